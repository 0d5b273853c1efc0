"""Progress of long work, told on stderr: in place on a terminal, one line a step elsewhere."""

from __future__ import annotations

import sys
import time
from typing import TextIO

from plumeline.cli.tables import WIDTH

LEAST_GAP_S = 0.1
"""A terminal is written to no more often than this."""


class Progress:
    """A display of progress; call it with what is being done and how far it is, from 0 to 1."""

    def __init__(self, *, quiet: bool, stream: TextIO | None = None) -> None:
        self._stream = sys.stderr if stream is None else stream
        self._quiet = quiet
        self._in_place = not quiet and self._stream.isatty()
        self._what = ""
        self._last_s = 0.0
        self._begin_s = time.monotonic()

    def __call__(self, what: str, share_fraction: float) -> None:
        """Tell that ``what`` is being done and this part of it is behind."""
        if self._quiet:
            return
        if not self._in_place:
            if what != self._what:
                print(f"{what} …", file=self._stream, flush=True)
        else:
            now = time.monotonic()
            if what == self._what and now - self._last_s < LEAST_GAP_S:
                return
            self._last_s = now
            clock = f"{int(now - self._begin_s)} s"
            part = f" {100 * share_fraction:.0f} %" if share_fraction > 0.0 else ""
            line = f"{clock:>6}  {what}{part} …"
            self._stream.write("\r" + line[: WIDTH - 1].ljust(WIDTH - 1))
            self._stream.flush()
        self._what = what

    def stands(self, words: str) -> None:
        """Tell a result that stands before all of the work is done; it stays where the next steps pass."""
        if self._quiet:
            return
        self.close()
        print(f"{time.monotonic() - self._begin_s:.0f} s: {words}", file=self._stream, flush=True)

    def close(self) -> None:
        """Leave the line empty for what comes next."""
        if self._in_place and self._what:
            self._stream.write("\r" + " " * (WIDTH - 1) + "\r")
            self._stream.flush()

    def __enter__(self) -> Progress:
        """Return the display itself."""
        return self

    def __exit__(self, *_stop: object) -> None:
        """Close the display, however the work ended."""
        self.close()
