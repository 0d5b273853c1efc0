"""A real server killed again and again while a phone hands over: what was acknowledged is there, nothing is doubled.

Run from the top of the tree: python -m scripts.soak.capture_kills [--kills N]
"""

from __future__ import annotations

import argparse
import json
import tempfile
import time
from pathlib import Path

from tests.browser.conftest import Server
from tests.killed import killed_while_handing_over


def main() -> None:
    """Start a server in a temporary folder, kill it, print what was counted as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="plumeline-soak-") as place:
        server = Server(Path(place)).start()
        try:
            found = killed_while_handing_over(
                server, kills=args.kills, items_count=40, photos_count=4, seed=args.seed, most_s=0.8
            )
        finally:
            server.stop()
    print(json.dumps({**found, "seconds": round(time.monotonic() - began, 1)}))


if __name__ == "__main__":
    main()
