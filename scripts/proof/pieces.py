"""Finished pieces of a study, kept as JSON lines so that a stopped study goes on where it stood.

A piece is a flat or nested mapping of plain values under a key of its own. A line cut short by a crash is
dropped when the file is opened again; everything before it counts.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

DEADLINE = "PROOF_DEADLINE"
"""Environment variable: seconds since the epoch at which the runner ends the study."""


def seconds_left() -> float:
    """Return how long the runner lets this study go on [s]; infinity outside the runner."""
    given = os.environ.get(DEADLINE)
    return float(given) - time.time() if given else float("inf")


class Pieces:
    """The pieces of one study in one file, by key."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.found: dict[str, dict[str, Any]] = {}
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.is_file():
            self._read()

    def _read(self) -> None:
        whole: list[str] = []
        for line in self.path.read_text(encoding="utf-8").splitlines():
            try:
                piece = json.loads(line)
                self.found[str(piece["key"])] = piece
            except (ValueError, KeyError, TypeError):
                continue  # cut short when the study was stopped
            whole.append(line)
        text = "".join(f"{line}\n" for line in whole)
        if text != self.path.read_text(encoding="utf-8"):
            self.path.write_text(text, encoding="utf-8")

    def __contains__(self, key: str) -> bool:
        return key in self.found

    def __getitem__(self, key: str) -> dict[str, Any]:
        return self.found[key]

    def __iter__(self) -> Iterator[dict[str, Any]]:
        return iter(self.found.values())

    def __len__(self) -> int:
        return len(self.found)

    def add(self, key: str, piece: dict[str, Any]) -> None:
        """Keep a finished piece; it is on the disk when this returns."""
        piece = {"key": key, **piece}
        self.found[key] = piece
        with self.path.open("a", encoding="utf-8") as file:
            file.write(json.dumps(piece, allow_nan=True) + "\n")
            file.flush()
            os.fsync(file.fileno())

    def drop(self, key: str) -> None:
        """Forget a piece."""
        del self.found[key]
        text = "".join(json.dumps(piece, allow_nan=True) + "\n" for piece in self.found.values())
        self.path.write_text(text, encoding="utf-8")
