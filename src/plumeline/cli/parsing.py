"""A parser that takes a negative quantity as a value, and names the option nearest to a mistyped one."""

from __future__ import annotations

import argparse
import difflib
import re
from collections.abc import Iterable, Sequence
from typing import Any

NEGATIVE = re.compile(r"^-\.?\d")
CHOICE = re.compile(r"invalid choice: '(.*)' \(choose from (.*)\)")
OPTION = re.compile(r"--[a-z][a-z0-9-]*")


def values_joined(words: Iterable[str]) -> list[str]:
    """Return the words with a negative value tied to its option by "=".

    The standard parser takes ``-8psig`` for an option, and then asks for a value that stands there.
    """
    joined: list[str] = []
    for word in words:
        before = joined[-1] if joined else ""
        if NEGATIVE.match(word) and OPTION.fullmatch(before):
            joined[-1] = f"{before}={word}"
        else:
            joined.append(word)
    return joined


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the question after the names most like a word, or nothing where none is like it."""
    names = {name.casefold(): name for name in known}
    alike = difflib.get_close_matches(word.casefold(), list(names), n=3, cutoff=0.6)
    return f"Did you mean {' or '.join(names[name] for name in alike)}?" if alike else ""


class Parser(argparse.ArgumentParser):
    """An argument parser whose refusals name the nearest right word."""

    _words: Sequence[str] = ()

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        """Parse, and refuse an unknown option here, where the known ones are known."""
        self._words = tuple(args or ())
        found, left = super().parse_known_args(args, namespace)
        # only the command itself has a handler; the parsers above it hand the rest down
        if self.get_default("run") is not None and left:
            quotes = (
                "" if left[0].startswith("-") else ". A value with a blank in it goes in quotes: '8 psig'"
            )
            self.error(f"unrecognized arguments: {' '.join(left)}{quotes}")
        return found, left

    def error(self, message: str) -> Any:
        """Refuse, with the option nearest to each one that is not known."""
        usage = self.format_usage()
        known = set(OPTION.findall(usage))
        written = [found.group() for word in self._words if (found := OPTION.match(word))]
        # what begins a known option is an abbreviation of it
        strange = [word for word in written if not any(option.startswith(word) for option in known)]
        hints = [f"{word} is no option here. {nearest(word, known)}".strip() for word in strange]
        if chosen := CHOICE.search(message):
            hints.append(nearest(chosen.group(1), re.findall(r"[\w-]+", chosen.group(2))))
        hint = " ".join(hint for hint in hints if hint)
        super().error(f"{message}. {hint}" if hint else message)
