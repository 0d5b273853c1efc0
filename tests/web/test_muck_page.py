"""Muck, levels, twins and walls on the pages of survey and layout: drawn, said, and each number opens."""

from __future__ import annotations

import html
import re

import pytest
from tests.web.opened_pages import Page, check_lines, check_links

from plumeline.demo import demo_folder
from plumeline.store import Folder, read_folder


def soft_files():
    """Return the demo pond probed all over, on two days of other water, one row twice, one 10 m out, walls of 1 ft."""
    files = dict(read_folder(demo_folder()).files)
    lines = files["soundings.csv"].decode().splitlines()
    heads = next(n for n, line in enumerate(lines) if not line.startswith("#"))
    column = next(n for n, head in enumerate(lines[heads].split(",")) if head.startswith("depth"))
    found = [*lines[:heads], f"{lines[heads]},muck_ft,level_ft,time"]
    for n, line in enumerate(lines[heads + 1 :]):
        late = n >= 30
        depth_ft = float(line.split(",")[column])
        cells = line.split(",")
        cells[column] = f"{depth_ft + 0.5 * late:.2f}"
        found.append(
            f"{','.join(cells)},{0.25 * depth_ft:.1f},{2.5 if late else 2.0},2026-08-{9 if late else 8:02d}"
        )
    found.append(found[heads + 6])
    files["soundings.csv"] = ("\n".join(found) + "\n").encode()
    files["job.toml"] = files["job.toml"].replace(b"[pond]\n", b'[pond]\nshore_depth = "1 ft"\n', 1)
    return files


@pytest.mark.parametrize("units", ["us", "si"])
def test_muck_and_levels_stand_on_the_pages_and_every_number_opens(browser, units):
    """Survey: its own drawing, sentence, figures, levels; layout: what each diffuser stands on."""
    pond = browser.store.ponds.add(Folder("water", soft_files()), author="", reason="").pond_id
    browser.in_units(units)
    text = browser.get(f"/ponds/{pond}/survey").text
    assert '<figure class="muck">' in text
    plain = html.unescape(re.sub(r"<[^>]+>", "", text))
    for words in (
        "Soft muck over firm bottom",
        "Soundings by day and level",
        "same place and depth as row",
        "thickest",
    ):
        assert words in plain, words
    assert ("yd³" in plain) == (units == "us")
    for stage in ("survey", "layout"):
        page = Page(browser.get(f"/ponds/{pond}/{stage}").text)
        rows = browser.get(f"/api/v1/ponds/{pond}/workings/{stage}?units={units}").json()
        check_links(page, rows)
        check_lines(rows)
        loose = [line for line in page.loose if re.search(r"(?<![\w.])\d", line)]
        assert not [line for line in loose if "muck" in line.lower() or "level" in line.lower()], loose
    laid = html.unescape(re.sub(r"<[^>]+>", "", browser.get(f"/ponds/{pond}/layout").text))
    assert "Muck under the diffusers" in laid
    assert "a stand with legs to firm bottom" in laid
    survey = browser.get(f"/api/v1/ponds/{pond}/stages/survey").json()["survey"]
    assert survey["muck"]["probe_count"] == survey["sounding_count"]
    assert survey["level_days"][0]["rise_m"] == 0.0
    assert survey["shore"]["given"]
