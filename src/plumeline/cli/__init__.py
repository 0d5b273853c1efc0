"""The shell: ``plumeline COMMAND``.

Data goes to stdout, talk to stderr; the exit code is 0 when done, 1 when failed, 2 when asked for wrongly.
"""

from __future__ import annotations

import os
import sys

from plumeline.errors import InputError, PlumelineError

DONE, FAILED, ASKED_WRONGLY, INTERRUPTED = 0, 1, 2, 130


def main(argv: list[str] | None = None) -> int:
    """Run one command and return the exit code.

    Args:
        argv: the words after the program's name; those of the process when None.

    Returns:
        0 when done, 1 when it failed, 2 when the command was asked for wrongly, 130 when interrupted.
    """
    words = sys.argv[1:] if argv is None else argv
    _speak_any_alphabet()
    try:
        code = _run(words)
        sys.stdout.flush()
    except BrokenPipeError:
        # The reader (head, a pager) has gone and wants no more; a later flush at exit must not complain.
        _drop_stdout()
        return DONE
    return code


def _run(words: list[str]) -> int:
    """Run one command with every error turned into one message, unless PLUMELINE_DEBUG is set."""
    from plumeline.cli.commands import build_parser
    from plumeline.cli.parsing import values_joined

    try:
        args = build_parser(words).parse_args(values_joined(words))
        code: int = args.run(args)
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else FAILED
    except BrokenPipeError:
        raise
    except KeyboardInterrupt:
        print("plumeline: interrupted", file=sys.stderr)
        return INTERRUPTED
    except Exception as error:
        if os.environ.get("PLUMELINE_DEBUG"):
            raise
        print(f"plumeline: {_message(error)}", file=sys.stderr)
        return ASKED_WRONGLY if _asked_wrongly(error) else FAILED
    return code


def _asked_wrongly(error: Exception) -> bool:
    """Return whether an error is one of the command line: of its words, or of an option's value."""
    from plumeline.cli.commands import UsageError

    return isinstance(error, UsageError) or (isinstance(error, InputError) and error.place.startswith("--"))


def _message(error: Exception) -> str:
    """Return one clear message for an error of any kind."""
    if isinstance(error, PlumelineError):
        return str(error)
    if isinstance(error, OSError) and error.strerror:
        return f"{error.filename}: {error.strerror}" if error.filename else error.strerror
    if isinstance(error, MemoryError):
        return "there is not enough memory for this."
    what = str(error).splitlines()[0] if str(error) else "no more is known"
    return (
        f"something went wrong that should not ({type(error).__name__}: {what}). "
        "Set PLUMELINE_DEBUG=1 to see where, and please report it."
    )


def _speak_any_alphabet() -> None:
    """Let a terminal that can't print "°" or "²" print something else instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")


def _drop_stdout() -> None:
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
    except (OSError, ValueError):
        return
