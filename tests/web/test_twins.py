"""Each chart and drawing of a page has a sentence, and a table that says what it shows."""

from __future__ import annotations

import pytest
from tests.web.browsers import HOST, Client
from tests.web.conftest import Browser
from tests.web.figures import extremes_of, pictures

from plumeline.charts import all_charts, hypsograph_chart
from plumeline.demo import demo_folder
from plumeline.drawing.section import section_through
from plumeline.store import Folder, open_store, read_folder
from plumeline.twins import MOST_ROWS, Column, twin_of
from plumeline.units import convert
from plumeline.web.app import make_app

ROUTE = """station_ft,elevation_ft,cover_in,crossing
0,693,18,
120,684,18,gravel drive
180,687,18,
430,681,18,
"""
ITSELF = ("/plan", "/shore", "/aerial")
"""Pages whose drawing is worked on: what lies where stands in their own fields."""
PAGES = (
    "",
    "/survey",
    "/reading",
    "/layout",
    "/air",
    "/startup",
    "/visits",
    "/papers",
    "/history",
    "/files",
    *ITSELF,
)
WITH_PICTURES = {"": 2, "/survey": 4, "/reading": 2, "/layout": 2, "/air": 1, "/startup": 6}


@pytest.fixture(scope="module")
def ponds(tmp_path_factory, small_files):
    """The demo pond with an air line on land, another one, and a start-up plan made of few simulated ponds."""
    store = open_store(tmp_path_factory.mktemp("twins") / "plumeline.sqlite3")
    oak = read_folder(demo_folder())
    for extra in ({"route.csv": ROUTE.encode()}, {}):
        store.ponds.add(Folder("hollow-oak", {**oak.files, **extra}), author="", reason="")
    run = store.runs.ask("hollow-oak", 1, "1")
    store.runs.finish(store.runs.claim().id, small_files)
    assert store.runs.get(run.id).state.value == "done"
    yield Browser(store)
    store.close()


def shown(browser, path, units="us"):
    """Return a page in units."""
    browser.post("/units", {"units": units, "back": "/"})
    answer = browser.get(path)
    assert answer.status_code == 200
    return answer.text


def figures(browser, path, units="us"):
    """Return the pictures of a page by name."""
    return {figure.name: figure for figure in pictures(shown(browser, path, units))}


@pytest.mark.parametrize("path", ["/", *(f"/ponds/hollow-oak{rest}" for rest in PAGES)])
def test_every_picture_has_a_sentence_and_a_table(ponds, path):
    """Walk the pages: no picture without a sentence, none without rows that say the same."""
    found = pictures(shown(ponds, path))
    wanted = 1 if path == "/" else WITH_PICTURES.get(path.removeprefix("/ponds/hollow-oak"), 0)
    assert len(found) == wanted
    for figure in found:
        assert figure.sentence.strip().endswith("."), figure.name
        assert figure.tables, figure.name
        for table in figure.tables:
            assert 0 < len(table.rows) <= MOST_ROWS, (figure.name, table.caption)
            assert table.caption
            assert all(len(row) == len(table.keys) for row in table.rows)
            assert all(cell.strip() for row in table.rows for cell in row)


def test_a_customer_finds_the_tables_too(ponds):
    """The same two drawings stand behind a link."""
    _link, secret = ponds.store.links.make("hollow-oak", "Ada")
    customer = Client(make_app(ponds.store, sign_in=True))
    assert customer.post("/link", {"code": f"{HOST}/link#{secret}"}, page="/link").status_code == 303
    found = pictures(customer.http.get("/customer").text)
    assert [figure.name for figure in found] == ["plan-view", "cut"]
    assert all(table.rows for figure in found for table in figure.tables)
    assert all(figure.tables and figure.sentence for figure in found)


def says(figure, key, values):
    """Tell that a figure's tables hold the extremes of a field, to the last place shown."""
    cells = figure.numbers(key)
    assert cells, (figure.name, key)
    for pick in (min, max):
        value, (cell, half) = pick(values), pick(cells)
        assert cell == pytest.approx(value, abs=half * (1 + 1e-9)), (figure.name, key)


@pytest.mark.parametrize("units", ["us", "si"])
def test_tables_of_charts_hold_the_extremes_of_their_specification(ponds, small_plan, units):
    """Each number that the renderer is given lies between the least and the greatest of its column."""
    site = ponds.client.app.state.site
    design = site.designs.of(ponds.store.ponds.revision("hollow-oak"))
    survey = figures(ponds, "/ponds/hollow-oak/survey", units)
    start = figures(ponds, "/ponds/hollow-oak/startup", units)
    pairs = [(survey["hypsograph"], hypsograph_chart(design, units))]
    pairs += [(start[f"chart-{chart.name}"], chart) for chart in all_charts(small_plan, units)]
    assert len(pairs) == 5
    for figure, chart in pairs:
        fields = extremes_of(chart.specification)
        assert fields
        for key, ends in fields.items():
            says(figure, key, ends)


@pytest.mark.parametrize(("units", "unit"), [("us", "ft"), ("si", "m")])
def test_tables_of_drawings_hold_what_is_drawn(ponds, units, unit):
    """Places, depths, plumes, bottom and readings of the plan, the cut and the route."""
    site = ponds.client.app.state.site
    design = site.designs.of(ponds.store.ponds.revision("hollow-oak"))
    layout, section = design.layout, section_through(design.survey, design.layout)
    plan, cut = figures(ponds, "/ponds/hollow-oak/layout", units).values()
    route = figures(ponds, "/ponds/hollow-oak/air", units)["route"]

    def there(values):
        return [convert(float(value), "m", unit) for value in values]

    plumes = [one.lift for one in design.plume.diffusers]
    says(plan, "east", there([layout.manifold_xy[0], *(item.x_m for item in layout.diffusers)]))
    says(plan, "north", there([layout.manifold_xy[1], *(item.y_m for item in layout.diffusers)]))
    says(plan, "depth", there(item.depth_m for item in layout.diffusers))
    whole = convert(design.survey.area_m2, "m2", "acre" if units == "us" else "m2")
    cell, half = max(plan.numbers("area"))
    assert cell == pytest.approx(whole, abs=half + 1e-3 * whole)
    says(cut, "distance", there(section.distance_m))
    says(cut, "bottom", there(section.bottom_m))
    says(cut, "width", there(2.0 * radius for lift in plumes for radius in lift.path_radius_m))
    says(cut, "oxygen", [layer.do_mg_l for layer in design.reading.layers])
    degree = "degf" if units == "us" else "degc"
    says(
        cut,
        "temperature",
        [convert(layer.temperature_degc, "degc", degree) for layer in design.reading.layers],
    )
    says(route, "station", there(point.station_m for point in design.air.route.run))
    says(route, "ground", there(point.ground_elevation_m for point in design.air.route.run))
    says(route, "pipe", there(point.pipe_elevation_m for point in design.air.route.run))
    met = [row[0] for table in route.tables for row in table.rows if table.keys[0] == "what"]
    assert any("gravel drive" in what for what in met)
    assert sum("low point" in what for what in met) == len(design.air.route.low_points) > 0
    assert "low point" in route.sentence


def test_a_plan_made_before_there_were_tables_is_shown(ponds, small_plan):
    """What was kept with a run by an older program lacks them."""
    store = ponds.store
    page = store.runs.file(store.runs.of_pond("hollow-oak")[0].id, "us/page.json").decode()
    old = page.replace('"twins"', '"unknown"').encode()
    files = {"us/page.json": old, "us/cut.svg": b"<svg xmlns='http://www.w3.org/2000/svg'></svg>"}
    other = next(row.id for row in store.ponds.rows() if row.id != "hollow-oak")
    run = store.runs.ask(other, 1, "1")
    store.runs.claim()
    store.runs.finish(run.id, files)
    assert "The same as a table" not in shown(ponds, f"/ponds/{other}/startup")


def test_a_long_table_is_thinned_and_says_so():
    """Ends and extremes stay, groups by themselves, and what is left out is said."""
    rows = [
        {"when": when, "x": float(n), "y": -100.0 if n == 333 else n % 7} for when in "ab" for n in range(500)
    ]
    twin = twin_of(
        "t", [Column("when", "when"), Column("x", "x"), Column("y", "y")], rows, by="when", most=40
    )
    assert len(twin.rows) <= 40
    assert {row[0] for row in twin.rows} == {"a", "b"}
    assert [row[1] for row in twin.rows if row[0] == "b"][-1] == "499"
    assert any(row[2] == "-100" for row in twin.rows)
    assert (
        twin.note
        == f"{len(twin.rows)} of 1000 points of the picture, the least and greatest of each column among them."
    )
    assert twin_of("t", [Column("x", "x")], rows[:40]).note == ""
