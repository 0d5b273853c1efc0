"""10,000 steps of phones, a network that loses half of the replies, and an office: rows = items made, all kept."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, seed, settings
from hypothesis.stateful import run_state_machine_as_test
from scripts.proof.pieces import Pieces, seconds_left
from scripts.soak.row import Row, none_of
from tests.hand_over import HandOver

TITLE = "Phones and a network that loses replies"
STEPS_A_RUN = 50
RUNS, QUICK, BLOCK = 200, 10, 10


def study(work: Path, *, quick: bool) -> dict[str, Any]:
    """Run the machine in blocks; an item lost or doubled ends the study with an error."""
    pieces, undone = Pieces(work / "steps.jsonl"), 0
    for block in range((QUICK if quick else RUNS) // BLOCK):
        if str(block) in pieces:
            continue
        if seconds_left() < 90.0 and not quick:
            undone += BLOCK * STEPS_A_RUN
            continue
        pieces.add(str(block), _ran(block))
    names = ("runs", "items", "variants")
    return {
        **{name: sum(piece[name] for piece in pieces) for name in names},
        "undone": f"{undone} steps" if undone else "",
    }


def _ran(block: int) -> dict[str, int]:
    class Counted(HandOver):
        """The machine, with a count of its runs and of what it made."""

        runs = items = variants = 0

        def teardown(self) -> None:
            """Count a run once all of it has arrived."""
            super().teardown()
            if hasattr(self, "made"):
                Counted.runs += 1
                Counted.items += len(self.made)
                Counted.variants += len(self.made) - len({ident for ident, _ in self.made})

    run_state_machine_as_test(
        seed(block)(Counted),
        settings=settings(
            max_examples=BLOCK,
            stateful_step_count=STEPS_A_RUN,
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
    return {"runs": Counted.runs, "items": Counted.items, "variants": Counted.variants}


def rows(results: dict[str, Any]) -> list[Row]:
    """Return steps and items."""
    words = f"up to {results['runs'] * STEPS_A_RUN} steps in {results['runs']} runs: {results['items']} items made, "
    words += f"{results['variants']} of them under a used id"
    return [none_of(words, 0, "lost, doubled or changed")]
