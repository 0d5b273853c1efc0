"""Write the units that the phone's page echoes, from the closed table of units/; a test compares them."""

from __future__ import annotations

import json
from pathlib import Path

from plumeline.units.reading import COMPOUNDS
from plumeline.units.table import UNITS

FILE = Path(__file__).resolve().parent.parent / "src/plumeline/web/static/capture/units_table.js"
KINDS = ("length", "temperature", "pressure", "concentration", "air flow", "water flow", "area", "volume")
"""What is typed at a pond, and what could be typed by mistake."""


def text() -> str:
    """Return the file."""
    kinds = {
        kind: {
            "compounds": list(COMPOUNDS.get(kind, ())) or None,
            "units": [
                {name: getattr(unit, name) for name in ("suffix", "scale", "offset", "mark", "spellings")}
                for unit in UNITS
                if unit.kind == kind
            ],
        }
        for kind in KINDS
        if any(unit.kind == kind for unit in UNITS)
    }  # fmt: skip
    lines = [
        f"  {json.dumps(kind)}: {json.dumps(value, ensure_ascii=False)}," for kind, value in kinds.items()
    ]
    head = "// Written by scripts/write_units_table.py from units/table.py; do not edit."
    return "\n".join([head, "export const KINDS = {", *lines, "};", ""])


def main() -> None:
    """Write the file."""
    FILE.write_text(text(), encoding="utf-8")


if __name__ == "__main__":
    main()
