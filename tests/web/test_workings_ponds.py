"""Every number of reading, layout and air line opens for a pond unlike the demo's: deep, high, salty, over its machine.

The ponds are made here. What must open is what the task sets: every number on a result page.
"""

from __future__ import annotations

import math
import re

import pytest
from tests.web.opened_pages import Page, check_lines, check_page

from plumeline.store import Folder, write_zip

JOB = """format = 1
name = "Deep hole"
date = 2026-08-05
[site]
latitude_longitude_elevation = "42.4, -84.6, 1290 m"
time_zone = "America/Detroit"
[pond]
max_depth = "8 m"
secchi_depth = "2 m"
[fish]
species = ["largemouth-bass"]
[power]
volts_amps = "120 V, 20 A"
place = { x_m = 80.0, y_m = 10.0 }
[air]
route_length = "60 m"
rise = "-3 m"
air_per_diffuser = "0.5 scfm"
base_height = "0.3 m"
[air.compressor]
name = "rocking-piston 1/4 hp class"
[[air.trunk]]
pipe = "steel-1"
length = "15 m"
[[air.trunk]]
pipe = "pe-1"
length = "45 m"
cover = "0.5 m"
[[air.diffusers]]
name = "D10"
place = { x_m = 0.0, y_m = 0.0 }
[prices]
trench = "20 per m"
pipe = "4 per m"
branch = "3 per m"
[wishes]
turnover_per_day = 9.0
"""
PROFILE = """time,depth_m,temperature_degc,do_mg_l,conductivity_us_cm,ph,sulphide_mg_l
2026-08-05T11:00,0,26,8.4,2500,8.3,0
2026-08-05T11:00,3,25,8.2,2600,8.2,0
2026-08-05T11:00,4,15,2.2,9000,,
2026-08-05T11:00,7,7,0.1,15000,6.9,1.1
"""


def made():
    """Return the folder of a round pond of 30 m radius, as steep as a quarry."""
    around = [(30.0 * math.cos(k / 12 * math.pi), 30.0 * math.sin(k / 12 * math.pi)) for k in range(24)]
    ring = ", ".join(f"{{ x_m = {x:.2f}, y_m = {y:.2f} }}" for x, y in around)
    job = JOB.replace('max_depth = "8 m"', f'max_depth = "8 m"\noutline = [[{ring}]]')
    rows = ["x_m,y_m,depth_m", "0,0,8.0"]
    for part in (0.4, 0.7, 0.9):
        rows += [f"{part * x:.2f},{part * y:.2f},{8.0 * (1.0 - part**6):.2f}" for x, y in around[::3]]
    files = {"job.toml": job, "profiles.csv": PROFILE, "soundings.csv": "\n".join(rows) + "\n"}
    return Folder("deep-hole", {name: text.encode() for name, text in files.items()})


TOLD = {
    "reading": ("Salt holds", "atmosphere at"),
    "layout": ("turns back", "was wanted", "held constant", "of trunk in it at"),
    "air": ("riser loop of metal", "electrical datum plane"),
}
"""What the page says of such a pond, so that the crawl meets it."""


@pytest.mark.parametrize("stage", TOLD)
def test_every_number_opens_where_plumes_turn_back_and_salt_parts_the_water(stage, browser):
    """Crawl the page in both systems of units, and work out each line anew."""
    answer = browser.bring_in(write_zip(made()), "deep-hole.zip")
    assert answer.status_code == 303, re.sub("<[^>]+>", " ", answer.text)[-3000:]
    pond = browser.get("/api/v1/ponds").json()[0]["id"].split("/")[-1]
    for units in ("us", "si"):
        rows = browser.in_units(units).get(f"/api/v1/ponds/{pond}/workings/{stage}?units={units}").json()
        text = browser.get(f"/ponds/{pond}/{stage}").text
        told = TOLD[stage]
        assert all(words in text for words in told)
        check_page(Page(text), rows)
        check_lines(rows)
