"""2,000 photos of 2 MB through connections of which a fifth break: every one must arrive, its hash the phone's."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from scripts.proof.pieces import Pieces, seconds_left
from scripts.soak.row import Row, none_of
from tests.browser.conftest import Server
from tests.photo_soak import soak

TITLE = "Photos through broken connections"
COUNT, QUICK, BLOCK = 2000, 20, 200
SIZE_BYTES, BROKEN, PHONES = 2_000_000, 0.2, 4


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Send in blocks, each to a database of its own; a photo that does not arrive ends the study with an error."""
    pieces, undone = Pieces(work / "photos.jsonl"), 0
    size = QUICK if quick else BLOCK
    for block in range((QUICK if quick else COUNT) // size):
        if str(block) in pieces:
            continue
        if seconds_left() < 120.0 and not quick:
            undone += size
            continue
        with tempfile.TemporaryDirectory(prefix="plumeline-soak-") as place:
            server = Server(Path(place)).start()
            try:
                found = soak(
                    server, photos_count=size, size_bytes=SIZE_BYTES, broken_share=BROKEN, phones_count=PHONES,
                    seed=block + 1,
                )  # fmt: skip
            finally:
                server.stop()
        pieces.add(str(block), {"photos": size, **found})
    names = ("photos", "requests", "cut", "lost_replies")
    return {
        **{name: sum(int(piece.get(name, 0)) for piece in pieces) for name in names},
        "undone": f"{undone} photos" if undone else "",
    }


def rows(results: dict[str, Any]) -> list[Row]:
    """Return photos and connections."""
    words = f"{results['photos']} photos of {SIZE_BYTES / 1e6:g} MB from {PHONES} phones, "
    words += f"{results['cut'] + results['lost_replies']} of {results['requests']} connections broken, "
    words += f"{results['lost_replies']} of those after the server had it all"
    return [none_of(words, 0, "lost, doubled or changed")]
