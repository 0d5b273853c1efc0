"""A byte of the database turns: a thousand times, each time the server starts on it and every kind of page is asked."""

from __future__ import annotations

import random
from collections import Counter
from pathlib import Path
from typing import Any

from scripts.proof.pieces import Pieces, seconds_left
from scripts.soak.row import Row, none_of
from tests.byte_flips import flipped, made

TITLE = "A byte turns on the disk"
COUNT, QUICK, DRAWN_EVERY = 1000, 40, 10


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Turn bytes one place at a time, each with its own seed."""
    pieces = Pieces(work / "flips.jsonl")
    kept = work / "made" / "plumeline.sqlite3"
    kept.parent.mkdir(exist_ok=True)
    data = kept.read_bytes() if (kept.parent / "whole").is_file() else made(kept.parent)
    (kept.parent / "whole").touch()
    (work / "turned").mkdir(exist_ok=True)
    undone = 0
    for number in range(QUICK if quick else COUNT):
        if str(number) in pieces:
            continue
        if seconds_left() < 15.0:
            undone += 1
            continue
        found = flipped(data, work / "turned", random.Random(number), drawn=number % DRAWN_EVERY == 0)
        pieces.add(str(number), {"at": found.at, "how": found.how, "wrong": found.wrong})
    return {
        "how": dict(Counter(piece["how"] or "failed" for piece in pieces)),
        "wrong": [piece["wrong"] for piece in pieces if piece["wrong"]],
        "undone": f"{undone} flips" if undone else "",
    }


def rows(results: dict[str, Any]) -> list[Row]:
    """Return what came of the flips."""
    how = results["how"]
    count = sum(how.values())
    words = f"{count} places, one to four bytes turned: " + ", ".join(
        f"{how[name]} {said}"
        for name, said in (
            ("refused", "refused at the start"), ("read only", "opened for reading only"),
            ("said", "said on the page concerned"), ("not noticed", "of no effect that a page shows"),
        )
        if name in how
    )  # fmt: skip
    return [none_of(words, len(results["wrong"]), "an empty start without a word, or an error of ours")]
