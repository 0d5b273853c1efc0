"""The profile file of ``quick plume``: depth, temperature and perhaps oxygen, in any order of rows."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from plumeline.errors import InputError
from plumeline.files.findings import Findings
from plumeline.files.headers import Column
from plumeline.files.limits import Limits
from plumeline.files.tables import read_table
from plumeline.notices import Notice

COLUMNS = (
    Column("depth_m", required=True, limits=Limits(0.0, 200.0), example="2.5"),
    Column("temperature_degc", required=True, limits=Limits(-0.5, 45.0), example="22.4"),
    Column("do_mg_l", limits=Limits(0.0, 40.0), example="6.2"),
)


@dataclass(frozen=True)
class ProfileRows:
    """The rows of a profile file in SI units.

    Attributes:
        depth_m: depths.
        temperature_degc: temperature at each.
        do_mg_l: oxygen at each, None when the file has no such column.
        notices: what was odd.
        echoes: how headers with another unit were understood.
    """

    depth_m: tuple[float, ...]
    temperature_degc: tuple[float, ...]
    do_mg_l: tuple[float, ...] | None
    notices: tuple[Notice, ...]
    echoes: tuple[str, ...]


def read_plume_profile(path: Path) -> ProfileRows:
    """Read a profile file.

    Args:
        path: a CSV file with ``depth_m,temperature_degc`` and perhaps ``do_mg_l``; a header may carry
            another unit.
    Returns:
        The rows as they stand in the file.
    Raises:
        InputError: no such file, or faults in it; the message names each.
    """
    if not path.exists():
        raise InputError("there is no such file.", remedy="Check the name.", place=str(path))
    findings = Findings()
    table = read_table(path, COLUMNS, findings)
    if table is not None and "do_mg_l" in table.numbers:
        for row, cell in zip(table.rows, table.numbers["do_mg_l"], strict=True):
            if cell is None:
                remedy = "Fill it, or drop the column."
                findings.fault(path.name, f"row {row}, do_mg_l", "has no value.", remedy)
    faults = findings.all_faults()
    if faults:
        raise InputError("; ".join(str(fault) for fault in faults))
    if table is None:
        raise InputError("the profile has no rows.", remedy="Give at least one depth.", place=path.name)
    oxygen = table.numbers.get("do_mg_l")
    return ProfileRows(
        tuple(value for value in table.numbers["depth_m"] if value is not None),
        tuple(value for value in table.numbers["temperature_degc"] if value is not None),
        None if oxygen is None else tuple(value for value in oxygen if value is not None),
        tuple(findings.notices),
        tuple(findings.echoes),
    )
