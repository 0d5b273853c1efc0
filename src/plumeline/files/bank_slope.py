"""The banks' slope as people write it: 3:1, 3 to 1, 1 ft in 3 ft, 33 %."""

from __future__ import annotations

import re
from math import isfinite
from typing import Any

from plumeline.errors import PlumelineError
from plumeline.files.findings import Findings
from plumeline.files.limits import limits_of
from plumeline.files.toml_values import JOB_FILE, limit_remedy
from plumeline.job.document import Pond
from plumeline.units import parse

PATH = "pond.bank_slope"
STEEP_NUMBER = 1.0
"""Run for one of fall under which earth does not stand for long under water (common practice, no published source)."""
_RATIO = re.compile(r"^(?P<run>[\d.]+)\s*(?::|to|/)\s*(?P<fall>[\d.]+)$", re.IGNORECASE)
_IN = re.compile(
    r"^(?P<fall>[\d.]+)\s*(?P<one>[a-z]*)\s+in\s+(?P<run>[\d.]+)\s*(?P<other>[a-z]*)$", re.IGNORECASE
)


def read_bank_slope(raw: Any, findings: Findings) -> dict[str, Any] | None:
    """Return the run of the banks for one of fall, nothing where it is not known; None after a fault.

    Run comes before fall ("3:1"), as earthwork is written; a share is fall over run.
    """
    if isinstance(raw, str) and raw.strip().lower() == "unknown":
        return {}
    run = _run(raw)
    if run is None or run <= 0.0:
        findings.fault(
            JOB_FILE,
            PATH,
            f"{raw!r} is no slope.",
            'Write run and fall, "3:1" where the bank falls 1 ft in 3 ft, or "1 ft in 3 ft", or "33 %", or "unknown".',
        )
        return None
    limits = limits_of(Pond, "bank_run_number")
    if broken := limits.broken_by(run, ""):
        findings.fault(JOB_FILE, PATH, f"run for one of fall: {broken}", limit_remedy(limits, ""))
        return None
    findings.echo(f"{PATH}: the banks fall 1 ft in {run:.3g} ft")
    if run < STEEP_NUMBER:
        findings.caution(
            "bank-slope-steep",
            f"{JOB_FILE}, {PATH}: {raw} is read as 1 ft of fall in {run:.2g} ft of run, steeper than earth stands "
            f"under water. Run comes first: was {1.0 / run:.3g}:1 meant? A wall is pond.walls or pond.shore_depth.",
        )
    return {"bank_run_number": run}


def _run(raw: Any) -> float | None:
    """Return the run for one of fall, None where it can't be read."""
    if isinstance(raw, (int, float)) and not isinstance(raw, bool):
        return float(raw)
    if not isinstance(raw, str):
        return None
    text = raw.strip()
    if found := _RATIO.match(text) or _IN.match(text):
        parts = found.groupdict()
        same = parts.get("one", "") == parts.get("other", "") or not (parts.get("one") and parts.get("other"))
        run, fall = (_number(parts[name]) for name in ("run", "fall"))
        return run / fall if same and run and fall else None
    if text.endswith("%"):
        try:
            share = parse(text, "fraction")
        except PlumelineError:
            return None
        return 1.0 / share if share > 0.0 else None
    return _number(text)


def _number(text: str) -> float | None:
    try:
        found = float(text)
    except ValueError:
        return None
    return found if isfinite(found) else None
