"""A real server killed again and again while a phone hands over: what was acknowledged is there, nothing is doubled."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from scripts.proof.pieces import Pieces, seconds_left
from scripts.soak.row import Row, none_of
from tests.browser.conftest import Server
from tests.killed import killed_while_handing_over

TITLE = "The server is killed while a phone hands over"
COUNT, QUICK, BLOCK = 200, 5, 20


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Kill in blocks, each on a database of its own; what is lost or doubled ends the study with an error."""
    pieces, undone = Pieces(work / "kills.jsonl"), 0
    size = QUICK if quick else BLOCK
    for block in range((QUICK if quick else COUNT) // size):
        if str(block) in pieces:
            continue
        if seconds_left() < 180.0 and not quick:
            undone += size
            continue
        with tempfile.TemporaryDirectory(prefix="plumeline-soak-") as place:
            server = Server(Path(place)).start()
            try:
                found = killed_while_handing_over(
                    server, kills=size, items_count=40, photos_count=4, seed=block + 1, most_s=0.8
                )
            finally:
                server.stop()
        pieces.add(str(block), found)
    names = ("kills", "in_the_middle", "items", "photos")
    return {
        **{name: sum(piece[name] for piece in pieces) for name in names},
        "undone": f"{undone} kills" if undone else "",
    }


def rows(results: dict[str, Any]) -> list[Row]:
    """Return kills and what was handed over."""
    words = f"{results['kills']} SIGKILLs, {results['in_the_middle']} of them in the middle of a hand-over: "
    words += f"{results['items']} items and {results['photos']} photos sent, all of it twice"
    # what is lost or doubled ends the study: there is no page with another number here
    return [none_of(words, 0, "lost, doubled or changed")]
