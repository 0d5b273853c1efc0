"""The oxygen debt's lines come to what the page shows, with and without bottles and a sulphide test."""

import pytest
from tests.web.opened_pages import Page, check_lines, check_links
from tests.web.shown_lines import shown_value

from plumeline.demo import demo_folder
from plumeline.store import Folder, read_folder

HEAD = "time,depth_ft,dilution,bottom_do_mg_l,surface_do_mg_l,after_15min_mg_l,after_24h_mg_l,surface_after_24h_mg_l\n"
BOTTLES = {
    "none": "",
    "24 h alone": HEAD + "2026-08-11T11:15,12.0,1:1,0.1,9.6,,2.7,8.0\n",
    "ran short": HEAD + "2026-08-11T11:15,12.0,1:1,0.1,9.6,4.5,0.3,8.0\n",
}


@pytest.mark.parametrize("bottles", BOTTLES)
def test_every_line_of_the_debt_comes_to_what_is_shown(browser, bottles):
    """Crawl the page; the pools that the page shows add up, and so does the line of the whole."""
    folder = read_folder(demo_folder())
    files = {name: data for name, data in folder.files.items() if name != "bottle.csv"}
    if BOTTLES[bottles]:
        files["bottle.csv"] = BOTTLES[bottles].encode()
    pond = browser.store.ponds.add(Folder("water", files), author="", reason="").pond_id
    rows = browser.get(f"/api/v1/ponds/{pond}/workings/reading?units=us").json()
    check_links(Page(browser.get(f"/ponds/{pond}/reading").text), rows)
    check_lines(rows)
    shown = {row["key"]: shown_value(row["result"]) for row in rows}
    parts = [shown[f"oxygen-debt-{name}"] for name in ("iron", "sulphide", "slow")]
    whole, step = shown["oxygen-debt-in-all"]
    assert (
        abs(sum(number for number, _ in parts) - whole) <= (step + sum(one for _, one in parts)) / 2 * 1.001
    )
