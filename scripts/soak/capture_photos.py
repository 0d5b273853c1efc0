"""2,000 photos of 2 MB through connections of which a fifth break: every one must arrive, its hash the phone's.

Run from the top of the tree: python -m scripts.soak.capture_photos [--photos N] [--megabytes M] [--broken SHARE]
"""

from __future__ import annotations

import argparse
import json
import tempfile
from pathlib import Path

from tests.browser.conftest import Server
from tests.photo_soak import soak


def main() -> None:
    """Start a server in a temporary folder, send, print what was counted as JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=int, default=2000)
    parser.add_argument("--megabytes", type=float, default=2.0)
    parser.add_argument("--broken", type=float, default=0.2, help="share of the connections")
    parser.add_argument("--phones", type=int, default=4, help="at once")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="plumeline-soak-") as place:
        server = Server(Path(place)).start()
        try:
            found = soak(
                server, photos_count=args.photos, size_bytes=int(args.megabytes * 1e6), broken_share=args.broken,
                phones_count=args.phones, seed=args.seed,
            )  # fmt: skip
        finally:
            server.stop()
    print(json.dumps(found))


if __name__ == "__main__":
    main()
