"""1,000 requests of every operation of the API as it is described, and 1,000 spoilt: no 5xx, nothing undescribed."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from scripts.proof.pieces import Pieces, seconds_left
from scripts.soak.row import Row, none_of
from tests.api_examples import answers_held, api_in, operations

TITLE = "The API against its description"
EXAMPLES, BLOCK, QUICK = 1000, 100, 10
MODES = (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Ask each operation in blocks, the first block of all before the second; an answer not described ends it."""
    pieces, undone = Pieces(work / "examples.jsonl"), 0
    size = QUICK if quick else BLOCK
    kinds = [(found.path, found.method, mode) for found in operations() for mode in MODES]
    for block in range(1 if quick else EXAMPLES // BLOCK):
        for path, method, mode in kinds:
            key = f"{block} {mode.name} {method} {path}"
            if key in pieces:
                continue
            if seconds_left() < 60.0 and not quick:
                undone += size
                continue
            pieces.add(key, _asked(path, method, mode, size, block))
    statuses = Counter[str]()
    for piece in pieces:
        statuses.update(piece["statuses"])
    return {
        "operations": len(kinds) // len(MODES),
        "statuses": dict(statuses),
        "undone": f"{undone} requests" if undone else "",
    }


def _asked(path: str, method: str, mode: GenerationMode, examples: int, block: int) -> dict[str, Any]:
    """Ask one operation over a database of its own; nothing where nothing of it can be spoilt."""
    with TemporaryDirectory() as folder, api_in(Path(folder)) as api:
        try:
            found = answers_held(api, path, method, mode, examples, seed=block)
        except Unsatisfiable:
            if mode is GenerationMode.POSITIVE:
                raise
            found = Counter()
    return {"statuses": {str(status): count for status, count in found.items()}}


def rows(results: dict[str, Any]) -> list[Row]:
    """Return how many were asked and what was answered."""
    statuses = {int(status): count for status, count in results["statuses"].items()}
    done = sum(count for status, count in statuses.items() if status < 400)
    words = (
        f"{sum(statuses.values())} requests of {results['operations']} operations, as described and spoilt: "
    )
    words += f"{done} done, {sum(statuses.values()) - done} refused in words"
    wrong = sum(count for status, count in statuses.items() if status >= 500)
    return [none_of(words, wrong, "of 5xx, or not as described")]
