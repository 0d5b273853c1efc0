"""The real server is killed a thousand times while a client saves, and while it starts."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from scripts.proof.pieces import Pieces, seconds_left
from scripts.soak.row import Row, none_of
from tests.browser.conftest import Server
from tests.killed_saving import killed_while_saving

TITLE = "The server is killed"
COUNT, QUICK, BLOCK = 1000, 10, 10


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Kill in blocks of ten, each on a database of its own; what is lost ends the study with an error."""
    pieces, undone, longest_s = Pieces(work / "kills.jsonl"), 0, 90.0
    for block in range((QUICK if quick else COUNT) // BLOCK):
        if str(block) in pieces:
            continue
        if seconds_left() < longest_s:
            undone += BLOCK
            continue
        place = work / "server"
        shutil.rmtree(place, ignore_errors=True)
        place.mkdir(parents=True)
        pieces.add(str(block), killed_while_saving(Server(place), kills=BLOCK, seed=block))
    names = ("kills", "at_start", "saves", "unanswered_kept")
    found = {name: sum(piece[name] for piece in pieces) for name in names}
    return {**found, "undone": f"{undone} kills" if undone else ""}


def rows(results: dict[str, Any]) -> list[Row]:
    """Return kills, saves and losses."""
    words = f"{results['kills']} SIGKILLs, {results['at_start']} of them while it started, the others among saves of "
    words += "a whole job: "
    words += (
        f"{results['saves']} saves answered, {results['unanswered_kept']} more kept whose answer was cut off"
    )
    # an answered save that is lost ends the study: there is no page with another number here
    return [none_of(words, 0, "answered saves lost, files not sound")]
