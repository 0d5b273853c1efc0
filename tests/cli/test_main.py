"""The shell itself: exit codes, stray errors, closed pipes, plain terminals."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

import plumeline
from plumeline.cli import commands, main
from plumeline.cli.tables import WIDTH, cells, listing, table
from plumeline.errors import InputError

SATURATION = ["quick", "saturation", "--temperature", "72 degF"]


@pytest.fixture(name="failing")
def _failing(monkeypatch):
    """Return a function that makes the saturation command raise an error."""

    def failing(error: BaseException) -> None:
        def handler(args):
            raise error

        monkeypatch.setattr("plumeline.cli.quick_water.saturation", handler)

    return failing


def test_version_is_printed_on_stdout(capsys):
    """`--version` prints the version and ends with 0."""
    assert main(["--version"]) == 0
    assert capsys.readouterr().out == f"plumeline {plumeline.__version__}\n"


def test_an_error_of_ours_is_one_message_with_place_and_remedy(capsys, failing):
    """A PlumelineError prints place, message and remedy on stderr and ends with 1."""
    failing(InputError("the depth is missing.", remedy="Write it.", place="profiles.csv, row 3"))
    assert main(SATURATION) == 1
    assert capsys.readouterr().err == "plumeline: profiles.csv, row 3: the depth is missing. Write it.\n"


def test_any_other_error_is_one_message_without_a_traceback(capsys, failing, monkeypatch):
    """A stray error ends with 1 and one line, and is raised when PLUMELINE_DEBUG is set."""
    monkeypatch.delenv("PLUMELINE_DEBUG", raising=False)
    failing(ZeroDivisionError("division by zero"))
    assert main(SATURATION) == 1
    err = capsys.readouterr().err
    assert "ZeroDivisionError" in err
    assert len(err.splitlines()) == 1
    monkeypatch.setenv("PLUMELINE_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        main(SATURATION)


def test_an_interrupt_ends_with_130(capsys, failing):
    """Ctrl-C ends quietly with the shell's customary code."""
    failing(KeyboardInterrupt())
    assert main(SATURATION) == 130
    assert "Traceback" not in capsys.readouterr().err


def test_a_file_error_names_the_file(capsys, failing):
    """An error of the operating system is told in its own words, with the file."""
    failing(PermissionError(13, "Permission denied", "pond/job.toml"))
    assert main(SATURATION) == 1
    assert capsys.readouterr().err == "plumeline: pond/job.toml: Permission denied\n"


@pytest.mark.skipif(os.name != "posix", reason="pipes close differently elsewhere")
def test_a_reader_that_goes_away_is_no_error():
    """`plumeline ... | head -0` complains of nothing."""
    reader, writer = os.pipe()
    os.close(reader)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "plumeline", *SATURATION], stdout=writer, stderr=subprocess.PIPE, text=True
        )
    finally:
        os.close(writer)
    assert done.stderr == ""
    assert done.returncode == 0


def test_a_terminal_without_degree_signs_is_no_error():
    """On a terminal that knows ASCII only, signs are replaced and the answer is printed."""
    done = subprocess.run(
        [sys.executable, "-m", "plumeline", *SATURATION],
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )
    assert done.returncode == 0
    assert b"72 degF = 22.2 ?C" in done.stdout


def test_the_list_of_commands_is_the_same_with_and_without_their_modules():
    """The cheap list of names and helps equals what the modules add."""
    light = {action.dest: action.help for action in _choices(commands.build_parser([]))}
    full = {action.dest: action.help for action in _choices(commands.build_parser([], all_groups=True))}
    assert light == full


def _choices(parser):
    (group,) = [action for action in parser._actions if action.nargs == "A..."]
    return group._choices_actions


def test_a_table_never_exceeds_80_cells():
    """Long cells go on in the next line; names, rule and columns line up."""
    text = table(
        ["day", "what is done", "reading"],
        [["1", "open valve 2 and wait " * 6, "4.0 mg/L"], ["2", "café naïve °", "3.9 mg/L"]],
    )
    lines = text.splitlines()
    assert max(cells(line) for line in lines) <= WIDTH
    assert lines[1].startswith("───")
    assert sum("open" in line for line in lines) > 1


def test_a_listing_keeps_names_and_values_apart():
    """Names stand in one column and values in another, broken within 80 cells."""
    text = listing([("short", "value"), ("a longer name", "word " * 40)], title="Title")
    lines = text.splitlines()
    assert lines[0] == "Title"
    assert max(cells(line) for line in lines) <= WIDTH
    assert lines[1].index("value") == lines[2].index("word")
