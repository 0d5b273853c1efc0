"""A sounder's table brought in on the page: looked at, its column told, taken; with a thumb's and a desk's width."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe
from tests.files.bring.made import put


@pytest.fixture(scope="module")
def own_server(tmp_path_factory):
    """A server with the demo pond."""
    from tests.browser.conftest import Server

    from plumeline.demo import demo_folder
    from plumeline.store import open_store, read_folder

    folder = tmp_path_factory.mktemp("bring-server")
    store = open_store(folder / "plumeline.sqlite3")
    store.ponds.add(read_folder(demo_folder()), author="office", reason="demo")
    at = store.ponds.revision("hollow-oak").job.site
    store.close()
    found = Server(folder).start()
    found.at = (at.longitude_deg, at.latitude_deg)
    yield found
    found.stop()


@pytest.mark.parametrize(("width", "scheme"), [(390, "light"), (1280, "dark")])
def test_a_table_is_looked_at_told_and_taken(page, own_server, tmp_path, width, scheme):
    """From the page of the shore; axe finds nothing at either step, and nothing runs out of the window."""
    page.set_viewport_size({"width": width, "height": 800})
    page.emulate_media(color_scheme=scheme)
    lon, lat = own_server.at
    rows = "".join(f"{lat},{lon + n * 1e-6 + width * 1e-8},{5 + n}\n" for n in range(4))
    path = put(tmp_path, f"sounder-{width}.csv", f"made by a logger\nLat,Long,Reading\n{rows}")
    page.goto(f"{own_server.url}/ponds/hollow-oak/shore")
    page.get_by_role("link", name="Bring in a track").click()
    page.get_by_label("GPX, KML or KMZ").set_input_files(path)
    page.get_by_role("button", name="Look at this file").click()
    page.get_by_role("alert").wait_for()
    assert not Axe().run(page).response["violations"]
    page.get_by_label("Column of the depth").fill("Reading")
    page.get_by_label("Unit of the depth").select_option("feet")
    page.get_by_label("Its depths").select_option("come behind those that are there")
    page.get_by_role("button", name="Look at it again so").click()
    page.locator("#taken").get_by_text("4 added to soundings.csv").wait_for()
    assert "'Reading', in ft" in page.locator("#understood").inner_text()
    assert not Axe().run(page).response["violations"]
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.get_by_label("Your name").fill("Ada")
    page.get_by_role("button", name="It is right").click()
    page.wait_for_url("**/shore")
    page.goto(f"{own_server.url}/ponds/hollow-oak/history")
    assert page.get_by_text(f"brought in: sounder-{width}.csv").is_visible()
