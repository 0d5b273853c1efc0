"""Every number of the air page opens for other jobs than the demo's: what they name and what they leave open."""

from __future__ import annotations

import re

import pytest
from tests.web.opened_pages import Page, check_lines, check_page

from plumeline.demo import demo_folder
from plumeline.store import Folder, read_folder, write_zip


def without(text, *keys):
    """Return a job without some fields."""
    return re.sub(rf"(?m)^({'|'.join(keys)}) = .*\n", "", text)


def bare(text):
    """Little is known but the pond: machine, trunk, power, neighbour, flood mark; the machine stands under water."""
    text = text.replace('rise = "12 ft"', 'rise = "-3 ft"')
    text = text[: text.index("[[air.trunk]]")] + text[text.index("[[air.diffusers]]") :]
    text = text[: text.index("[air.compressor]")] + text[text.index("[air.cabinet]") :]
    text = without(
        text, "neighbour_distance", "night_limit", "intake_temperature", "soil_temperature", "high_water"
    )
    return without(text, "air_per_diffuser", "volts_amps", "feeder_length", "feeder_gauge")


def boxed(text):
    """Two machines in a cabinet in the sun, other valves, shares by depth, tubing weighed."""
    text = text.replace('housing = "room"', 'housing = "cabinet"\nshade = "no"\nfan_flow = "30 cfm"')
    text = text.replace('elevation = "692 ft"', 'elevation = "692 ft"\ncount = 2').replace("20 A", "50 A")
    text = text.replace('name = "A"\n', 'name = "A"\nvalve = "gate"\n').replace(
        'name = "B"\n', 'name = "B"\nvalve = "globe"\n'
    )
    weighed = 'coil_mass = "16 lb"\ncoil_length = "100 ft"'
    more = 'balance = "depth"\nmembrane_loss = "0.3 psi"\nfilter_loss = "0.1 psi"'
    return text.replace('slack = "8 %"', f'slack = "8 %"\n{more}\n{weighed}')


def low(text):
    """A machine without a plate under the water, a long wire, plastic of three kinds."""
    plate = (
        "power",
        "volts",
        "running_current",
        "starting_current",
        "noise",
        "efficiency",
        "relief_pressure",
    )
    head, _, rest = text.partition("[air.compressor]")
    text = head + "[air.compressor]" + without(rest, *plate, "elevation")
    text = (
        text.replace('rise = "12 ft"', 'rise = "-3 ft"')
        .replace('"693 ft"', '"678 ft"')
        .replace('"45 ft"', '"300 ft"')
    )
    return text.replace('"pe-3/4"', '"pvc40-1"', 1).replace(
        'branch_pipe = "tubing-1/2"', 'branch_pipe = "pe-1/2"'
    )


@pytest.mark.parametrize("change", [bare, boxed, low])
def test_every_number_of_another_jobs_air_opens(change, browser):
    """Crawl the page in both systems of units, and work out each line anew."""
    folder = read_folder(demo_folder())
    text = change(folder.files["job.toml"].decode())
    made = Folder("other", {**folder.files, "job.toml": text.encode()})
    answer = browser.bring_in(write_zip(made), "other.zip")
    assert answer.status_code == 303, re.sub("<[^>]+>", " ", answer.text)[-3000:]
    pond = browser.get("/api/v1/ponds").json()[0]["id"].split("/")[-1]
    for units in ("us", "si"):
        rows = browser.in_units(units).get(f"/api/v1/ponds/{pond}/workings/air?units={units}").json()
        check_page(Page(browser.get(f"/ponds/{pond}/air").text), rows)
        check_lines(rows)


ROUTE = """station_ft,elevation_ft,cover_in,soil,crossing
0,684,0,,
60,688,18,clay,
120,683,18,clay,power line
200,687,12,loam,
430,681,,loam,
"""
FROST = '\n[trench]\nfrost_depth = "16 in"\n'
ACCEPTED = """
[as_built]
made_on = 2026-08-10
[as_built.commissioned]
accepted_on = 2026-08-11
accepted_by = "x"
[[as_built.commissioned.gauges]]
time = 2026-08-11T10:00:00Z
place = "compressor"
pressure_pa = 42000.0
expected_pa = 42867.0
p05_pa = 39000.0
p95_pa = 46000.0
water_level_m = 0.0
[[as_built.commissioned.gauges]]
time = 2026-08-11T10:05:00Z
place = "B"
pressure_pa = 36000.0
expected_pa = 35000.0
p05_pa = 33000.0
p95_pa = 38000.0
water_level_m = 0.1
open_ports = ["B"]
full_open = true
"""


def sunk(text):
    """The compressor under the water: the pond can run back."""
    return text.replace('rise = "12 ft"', 'rise = "-3 ft"').replace('"693 ft"', '"678 ft"')


OLD_PIPE = """
[air.old_pipe]
length = "290 ft"
nominal = "3/4 in"
cover = "18 in"
[air.old_pipe.hold_test]
start_pressure = "9 psig"
end_pressure = "8.7 psig"
minutes = 30
temperature = "68 degF"
[air.old_pipe.open_end_test]
air = "3.5 scfm"
inlet_pressure = "1.6 psig"
temperature = "75 degF"
"""


def buried(text):
    """The trunk is a pipe in the ground of a known size and an unknown kind, with both of its tests."""
    return text.replace('pipe = "pe-3/4"', 'pipe = "old-pipe"') + OLD_PIPE


@pytest.mark.parametrize(
    ("change", "more", "said"),
    [
        (lambda text: text + FROST, {"route.csv": ROUTE.encode()}, "Low points"),
        (lambda text: text + ACCEPTED, {}, "Accepted at commissioning"),
        (sunk, {}, "flood at the highest water"),
        (buried, {}, "Pipe in the ground"),
    ],
    ids=["a route on land", "accepted gauges", "the pond running back", "a pipe in the ground"],
)
def test_every_number_of_the_way_on_land_and_of_accepted_gauges_opens(browser, change, more, said):
    """Dips, water, trench, frost and crossings; gauges as accepted, then and now; the water that would run back."""
    folder = read_folder(demo_folder())
    text = change(folder.files["job.toml"].decode())
    made = Folder("land", {**folder.files, **more, "job.toml": text.encode()})
    pond = browser.store.ponds.add(made, author="", reason="").pond_id
    for units in ("us", "si"):
        page = browser.in_units(units).get(f"/ponds/{pond}/air").text
        assert said in page
        rows = browser.get(f"/api/v1/ponds/{pond}/workings/air?units={units}").json()
        check_page(Page(page), rows)
        check_lines(rows)
