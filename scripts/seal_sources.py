"""Write the checksum of each table of src/plumeline/sources into its sidecar, after a change was reviewed."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

FOLDER = Path(__file__).resolve().parent.parent / "src" / "plumeline" / "sources"


def main() -> None:
    """Seal every table that has a sidecar, and say which have none."""
    for table in sorted(FOLDER.glob("*.csv")):
        sidecar = table.with_suffix(".toml")
        if not sidecar.exists():
            print(f"{table.name}: no sidecar")
            continue
        digest = hashlib.sha256(table.read_bytes()).hexdigest()
        text = sidecar.read_text(encoding="utf-8")
        line = f'sha256 = "{digest}"'
        sealed = re.sub(r'(?m)^sha256 = ".*"$', line, text)
        if line not in sealed:
            sealed = sealed.rstrip("\n") + f"\n{line}\n"
        sidecar.write_text(sealed, encoding="utf-8")
        print(f"{table.name}: {digest[:12]}")


if __name__ == "__main__":
    main()
