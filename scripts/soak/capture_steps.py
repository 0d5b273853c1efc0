"""10,000 steps of phones, a network that loses half of the replies, and an office: rows = items made, all values kept.

Run from the top of the tree: python -m scripts.soak.capture_steps [--steps N]
"""

from __future__ import annotations

import argparse
import json
import time

from hypothesis import HealthCheck, settings
from hypothesis.stateful import run_state_machine_as_test
from tests.hand_over import HandOver

STEPS_A_RUN = 50


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


def main() -> None:
    """Run the machine, print what was counted as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--steps", type=int, default=10_000)
    args = parser.parse_args()
    began = time.monotonic()
    run_state_machine_as_test(
        Counted,
        settings=settings(
            max_examples=max(1, args.steps // STEPS_A_RUN),
            stateful_step_count=STEPS_A_RUN,
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
    found = {"runs": Counted.runs, "steps": Counted.runs * STEPS_A_RUN, "items": Counted.items}
    print(json.dumps({**found, "variants": Counted.variants, "seconds": round(time.monotonic() - began, 1)}))


if __name__ == "__main__":
    main()
