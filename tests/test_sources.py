"""Every table of sources/ has a sidecar that cites it, licenses it and holds its checksum."""

import csv
import hashlib
from pathlib import Path

import pytest

from plumeline import sources
from plumeline.errors import InputError

FOLDER = Path(sources.__file__).parent
TABLES = sources.table_names()


def test_there_are_tables():
    """The list is not empty: the other tests can't pass by finding nothing."""
    assert {"pipes", "fittings", "compressors", "compressor_curves", "pressure_derating"} <= set(TABLES)


@pytest.mark.parametrize("name", TABLES)
def test_the_sidecar_cites_and_licenses(name):
    """Title, at least one citation, licence: each says something."""
    sidecar = sources.read_sidecar(name)
    assert sidecar["title"]
    assert sidecar["citation"]
    assert all(sidecar["citation"])
    assert sidecar["licence"]


@pytest.mark.parametrize("name", TABLES)
def test_the_checksum_is_the_tables(name):
    """A table changed without a new look at its sidecar is found (scripts/seal_sources.py writes it)."""
    digest = hashlib.sha256((FOLDER / f"{name}.csv").read_bytes()).hexdigest()
    assert sources.read_sidecar(name)["sha256"] == digest


@pytest.mark.parametrize("name", TABLES)
def test_every_row_is_whole(name):
    """As many cells as headings, no heading twice, no blank first cell."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        heading, *rows = list(csv.reader(file))
    assert len(set(heading)) == len(heading)
    assert rows
    assert all(len(row) == len(heading) and row[0] for row in rows)


def test_rows_can_be_changed_without_harm():
    """What a caller does to a row does not reach the next caller."""
    sources.read_table("pipes")[0]["bore_m"] = "spoilt"
    assert sources.read_table("pipes")[0]["bore_m"] != "spoilt"


def test_an_unknown_table_is_an_error_that_names_the_known():
    """A wrong name lists the right ones."""
    with pytest.raises(InputError, match="pipes"):
        sources.read_table("pies")


def test_every_pipe_can_be():
    """The bore is under the outside diameter, names are not used twice, numbers are numbers."""
    rows = sources.read_table("pipes")
    assert len({row["name"] for row in rows}) == len(rows)
    for row in rows:
        assert 0.0 < float(row["bore_m"]) < float(row["outside_diameter_m"]) < 0.1
        assert 0.0 <= float(row["roughness_m"]) < 1e-4
        assert 40.0 <= float(row["service_limit_degc"]) <= 250.0
        assert row["mark"] in {"R", "M"}


@pytest.mark.parametrize(
    ("name", "bore_in", "outside_in"),
    [
        ("pe-3/4", 0.824, None), ("steel-3/4", 0.824, 1.050), ("steel-1/2", 0.622, 0.840),
        ("pvc40-3/4", 0.804, 1.050), ("pe-dr11-1", 1.075, 1.315), ("pe-cts-dr11-1/2", 0.505, 0.625),
        ("steel-2", 2.067, 2.375), ("tubing-3/8", 0.375, None),
    ],
)  # fmt: skip
def test_pipes_have_their_published_sizes(name, bore_in, outside_in):
    """ASTM D1785 (average bore), D2239, D2737, D3035 and ASME B36.10M, in inches."""
    row = {row["name"]: row for row in sources.read_table("pipes")}[name]
    assert float(row["bore_m"]) / 0.0254 == pytest.approx(bore_in, abs=6e-5)
    if outside_in:
        assert float(row["outside_diameter_m"]) / 0.0254 == pytest.approx(outside_in, abs=6e-5)


def test_generic_machines_are_marked_invented():
    """No row of the compressors stands for a maker's machine, and each says so."""
    for name in ("compressors", "compressor_curves"):
        assert {row["mark"] for row in sources.read_table(name)} == {"invented"}
    named = {row["name"] for row in sources.read_table("compressors")}
    assert named == {row["name"] for row in sources.read_table("compressor_curves")}
