"""Which gauge was meant: the words of a phone beside the ports of a pond's line, and a row of gauges.csv renamed."""

from __future__ import annotations

import csv
import io
import re

from plumeline.errors import InputError
from plumeline.files import gauges
from plumeline.files.csv_rows import CsvText, opened

AROUND = re.compile(r"^(?:at |the |port |gauge |diffuser )+|(?: gauge| port)+$")


def port_named(typed: str, ports: tuple[str, ...]) -> str | None:
    """Return the port that was meant, as the line names it: capitals and "at the ... gauge" are let by.

    Args:
        typed: what somebody wrote.
        ports: the compressor, the manifold and the ports of the line.

    Returns:
        Its name; None where it is none of them, or could be two.
    """
    if typed in ports:
        return typed
    plain = " ".join(typed.split()).casefold()
    for wanted in (plain, AROUND.sub("", plain)):
        found = [name for name in ports if name.casefold() == wanted]
        if len(found) == 1:
            return found[0]
    return None


def not_a_port(typed: str, ports: tuple[str, ...]) -> InputError:
    """Return the refusal of a gauge that no port of the line has."""
    return InputError(
        f"'{typed[:60]}' is not a port of this pond.", remedy=f"Choose which: {', '.join(ports)}."
    )


def with_port(data: bytes, row: int, was: str, port: str) -> bytes:
    """Return gauges.csv with the place of one row changed; the rest stays to the byte.

    Args:
        data: the file.
        row: its line, the first is 1.
        was: what stands there.
        port: what shall stand there.

    Raises:
        InputError: something else stands there.
    """
    table = opened(gauges.FILE, data, gauges.COLUMNS, ("time", "place"))
    place = next(n for n, one in enumerate(table.headers) if one and one.column.name == "place")
    cells = _cells(table, row)
    if place >= len(cells) or cells[place].strip() != was:
        raise InputError(
            f"row {row} of {gauges.FILE} is not '{was[:60]}' now.", remedy="Load the page again."
        )
    cells[place] = port
    stream = io.StringIO()
    csv.writer(stream, delimiter=table.delimiter, lineterminator="").writerow(cells)
    lines = [*table.lines[: row - 1], stream.getvalue(), *table.lines[row:]]
    return (table.before + table.end.join((*lines, ""))).encode()


def _cells(table: CsvText, row: int) -> list[str]:
    if not table.heading + 1 < row <= len(table.lines):
        return []
    return next(csv.reader([table.lines[row - 1]], delimiter=table.delimiter), [])
