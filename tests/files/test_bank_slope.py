"""The banks' slope as people write it, and what can't be one."""

from __future__ import annotations

import pytest

from plumeline.files.bank_slope import read_bank_slope
from plumeline.files.findings import Findings


@pytest.mark.parametrize(
    ("written", "run"),
    [
        ("3:1", 3.0),
        ("2.5 to 1", 2.5),
        ("1 ft in 3 ft", 3.0),
        ("1 in 4", 4.0),
        ("33.3333 %", 3.0),
        (3, 3.0),
        ("6:2", 3.0),
    ],
)
def test_run_to_fall_as_it_is_written(written: object, run: float) -> None:
    """Run before fall, as earthwork is written (USDA NRCS 1997, Agriculture Handbook 590: side slopes such as 3:1)."""
    findings = Findings()
    found = read_bank_slope(written, findings)
    assert found == {"bank_run_number": pytest.approx(run, rel=1e-5)}
    assert findings.all_faults() == ()
    assert f"1 ft in {run:.3g} ft" in findings.echoes[0]


def test_unknown_is_not_a_slope_and_no_fault() -> None:
    """The prior stays."""
    findings = Findings()
    assert read_bank_slope("unknown", findings) == {}
    assert findings.all_faults() == ()


@pytest.mark.parametrize(
    "written", ["steep", "3:0", "-3:1", "1 ft in 3 m", "", True, "nan", "100:1", "0.1:1", "0 %"]
)
def test_what_is_no_slope_says_what_would_be_one(written: object) -> None:
    """Each is a fault at the field, with an example or the limit."""
    findings = Findings()
    assert read_bank_slope(written, findings) is None
    (fault,) = findings.all_faults()
    assert fault.where == "pond.bank_slope"
    assert fault.remedy


def test_fall_before_run_is_asked_about() -> None:
    """1:3 read as 3 ft of fall in 1 ft: a caution says how it was read and what may have been meant."""
    findings = Findings()
    assert read_bank_slope("1:3", findings) == {"bank_run_number": pytest.approx(1 / 3)}
    (notice,) = findings.notices
    assert notice.code == "bank-slope-steep"
    assert "3:1" in notice.text
