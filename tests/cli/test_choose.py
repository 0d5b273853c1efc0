"""plumeline choose: what a contractor sees, what a program reads, what is refused."""

from __future__ import annotations

import json
import re
import shutil
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader

from plumeline.cli.tables import WIDTH, cells
from plumeline.demo import demo_folder

OWN = (
    "name,pressure_psig,intake_flow_cfm,power_w,purchase_each,outlet_limit_degf,volts\n"
    "shop special,0,4.9,290,780,160,115\nshop special,10,4.0,,,,\nshop special,25,2.1,,,,\n"
)


@pytest.fixture(name="folder")
def _folder(tmp_path) -> Path:
    """Return a copy of the demo's folder."""
    return Path(shutil.copytree(demo_folder(), tmp_path / "oak"))


def test_the_tables_fit_and_say_the_main_things(run, folder):
    """Winner, alternatives, reasons, the losers' groups and the distance, in 80 columns."""
    code, out, _ = run("choose", str(folder))
    assert code == 0
    assert max(cells(line) for line in out.splitlines()) <= WIDTH
    for words in ("least cost over the years", "why it loses", "What the others fail on", "a long air line"):
        assert words in out
    flat = re.sub(r"\s+", " ", out)
    assert "it needs 230 V, the power named is 120 V" in flat
    assert "licensed electrician" in flat
    assert "kPa" not in out


def test_si_units(run, folder):
    """With --units si nothing is in psi, feet or Fahrenheit."""
    _, out, _ = run("choose", str(folder), "--units", "si")
    assert "kPa" in out
    assert not re.search(r"\bpsi|\d ft\b|°F|scfm", out)


def test_json_is_si_and_names_its_parts(run, folder):
    """The document has the ranking under `choice`'s names, no marks in its texts, and SI numbers."""
    code, out, _ = run("choose", str(folder), "--json")
    assert code == 0
    assert "\\u2060" not in out
    found = json.loads(out)["choose"]
    assert found["winner"]["cost"]["purchase_money"] > 0.0
    assert 2e4 < found["winner"]["compressor_pressure_pa"] < 2e5
    assert found["service"]["distance_m"] == pytest.approx(430 * 0.3048)
    assert found["tried_count"] == found["works_count"] + sum(
        item["member_count"] for item in found["groups"]
    )


def test_years_and_rate_of_the_command_line(run, folder):
    """More years cost more, a rate of nought most of all."""
    totals = []
    for words in (("--years", "5"), ("--years", "15"), ("--years", "15", "--discount-rate", "0 %")):
        found = json.loads(run("choose", str(folder), "--json", *words)[1])["choose"]
        cost = found["winner"]["cost"]
        totals.append(sum(value for key, value in cost.items() if key.endswith("_money")))
    assert totals == sorted(totals)
    assert len(set(totals)) == 3


def test_own_equipment_takes_part_and_bad_rows_are_named(run, folder):
    """A machine of equipment.csv is ranked with the rest; a bad row ends the command with line and remedy."""
    (folder / "equipment.csv").write_text(OWN, encoding="utf-8")
    found = json.loads(run("choose", str(folder), "--json")[1])["choose"]
    reason = next(item["reason"] for item in found["verdicts"] if item["machine"] == "shop special")
    assert "discharge" in reason
    assert "71 °C" in reason
    (folder / "equipment.csv").write_text(OWN.replace("10,4.0", "10,5.0"), encoding="utf-8")
    code, out, err = run("choose", str(folder))
    assert code == 1
    assert not out
    assert "equipment.csv" in err
    assert "row 3" in err
    assert "less air at more pressure" in err


def test_without_a_pond_by_typed_depths(run, folder):
    """--depths leaves the pond out: as many diffusers as depths, each to get its wanted air."""
    found = json.loads(run("choose", str(folder), "--json", "--depths", "12 ft, 10 ft")[1])["choose"]
    assert found["winner"]["diffuser_count"] == 2
    assert found["winner"]["turnover_per_day"] is None
    assert found["wanted_air_per_diffuser_m3_s"] == pytest.approx(1.3 * 4.719474432e-4, rel=1e-6)


@pytest.mark.parametrize(
    "words",
    [("--years", "0"), ("--years", "ten"), ("--discount-rate", "60 %"), ("--branch-lengths", "90 ft")],
)
def test_wrong_asking_is_a_usage_error(run, folder, words):
    """Exit code 2 with words, no traceback."""
    code, out, err = run("choose", str(folder), *words)
    assert code == 2
    assert not out
    assert "Traceback" not in err


def test_the_page_and_the_chart(run, folder, tmp_path):
    """--pdf and --chart write the page for the quote and the costs by distance; the same bytes twice."""
    names = ("--pdf", str(tmp_path / "a.pdf"), "--chart", str(tmp_path / "a.svg"))
    assert run("choose", str(folder), *names)[0] == 0
    first = (tmp_path / "a.pdf").read_bytes()
    pages = [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(BytesIO(first)).pages]
    assert 1 <= len(pages) <= 3
    text = " ".join(pages)
    for words in (
        "What to buy",
        "What else was tried",
        "Power at the pond",
        "utility-locate",
        "air line",
        "USD",
    ):
        assert words in text
    svg = (tmp_path / "a.svg").read_text(encoding="utf-8")
    for words in ("from the power to the pond, ft", "new service", "this job", "even at"):
        assert words in svg
    assert run("choose", str(folder), *names)[0] == 0
    assert (tmp_path / "a.pdf").read_bytes() == first
    assert (tmp_path / "a.svg").read_text(encoding="utf-8") == svg


def test_nothing_to_draw_is_said(run, folder, tmp_path):
    """Where nothing works there is no chart, and that is said instead of an empty file."""
    code, _, err = run("choose", str(folder), "--depths", "190 ft", "--chart", str(tmp_path / "b.svg"))
    assert code == 2
    assert "nothing to draw" in err
    assert not (tmp_path / "b.svg").exists()
