"""Map tiles on a rendered screen, from a server of tiles of our own under a made-up name, there and gone."""

from __future__ import annotations

import io
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest
from axe_playwright_python.sync_playwright import Axe
from PIL import Image
from tests.browser.conftest import FLAGS, Server, chromium_path
from tests.browser.test_access import PATHS

from plumeline.demo import demo_folder
from plumeline.store import open_store, read_folder
from plumeline.web.laid_tiles import to_tile

NAME = "tiles.test"
CREDIT = "Map: a test's own"
WEST, EAST = (40, 90, 200), (200, 60, 40)


class TileServer:
    """Tiles that are blue west and red east of a longitude; may be told to know none of odd columns."""

    def __init__(self, longitude_deg) -> None:
        self.asked: list[str] = []
        self.lacks_odd = False
        outer = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self):
                outer.asked.append(self.path)
                zoom, column, _ = (int(part) for part in self.path.removesuffix(".png").split("/")[1:])
                if outer.lacks_odd and column % 2:
                    self.send_error(404)
                    return
                line = to_tile(longitude_deg, 0.0, zoom)[0] - column
                picture = Image.new("RGB", (256, 256), EAST)
                picture.paste(WEST, (0, 0, max(0, min(256, round(256 * line))), 256))
                data = io.BytesIO()
                picture.save(data, "PNG")
                self.send_response(200)
                self.send_header("Content-Type", "image/png")
                self.end_headers()
                self.wfile.write(data.getvalue())

            def log_message(self, *_):
                pass

        self.server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        self.thread = threading.Thread(target=self.server.serve_forever, daemon=True)
        self.thread.start()

    @property
    def address(self):
        return f"http://{NAME}:{self.server.server_port}/{{z}}/{{x}}/{{y}}.png"

    def stop(self):
        self.server.shutdown()
        self.server.server_close()
        self.thread.join()


@pytest.fixture(scope="module")
def tiles():
    """A server of tiles that part at the middle of the demo pond."""
    folder = read_folder(demo_folder())
    from plumeline.stages.survey.plane import plane_of
    from plumeline.store.ponds import look_through

    _, job = look_through(folder, None)
    found = TileServer(plane_of(job).longitude_deg)
    yield found
    found.stop()


def two_ponds(folder, address):
    """Start our server with two ponds and an address of tiles."""
    store = open_store(folder / "plumeline.sqlite3")
    for _ in range(2):
        store.ponds.add(read_folder(demo_folder()), author="", reason="")
    store.close()
    return Server(folder, "--tiles", address, "--tiles-credit", CREDIT).start()


@pytest.fixture(scope="module")
def mapped(tmp_path_factory, tiles):
    """Our server beside one of tiles."""
    found = two_ponds(tmp_path_factory.mktemp("mapped"), tiles.address)
    yield found
    found.stop()


@pytest.fixture(scope="module")
def unmapped(tmp_path_factory):
    """Our server, the one of its tiles gone."""
    gone = TileServer(0.0)
    gone.stop()
    found = two_ponds(tmp_path_factory.mktemp("unmapped"), gone.address)
    yield found
    found.stop()


@pytest.fixture
def screen(playwright_driver):
    """A browser that finds the made-up name on this machine, and nothing else anywhere."""
    rules = f"--host-resolver-rules=MAP {NAME} 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"
    browser = playwright_driver.chromium.launch(executable_path=chromium_path(), args=[*FLAGS, rules])
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    errors = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    yield page
    browser.close()
    assert not errors


def colour_at(page, x_mm, y_mm):
    """Return the colour of a place of the plan on the screen."""
    where = page.evaluate(
        "([x, y]) => { const m = document.querySelector('#plan svg').getScreenCTM();"
        "const p = new DOMPoint(x, y).matrixTransform(m); return [p.x, p.y]; }",
        [x_mm, y_mm],
    )
    shot = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    return shot.getpixel(tuple(round(value) for value in where))


def loaded(page, count):
    """Wait until so many tiles stand in the drawing."""
    page.wait_for_function(f"document.querySelectorAll('image[transform]').length >= {count}")
    page.wait_for_function("document.querySelector('#map-credit:not([hidden])')")
    page.wait_for_load_state("networkidle")


def test_tiles_lie_under_the_plan_at_their_place(screen, mapped, tiles):
    """The line at which the tiles part goes through the middle of the pond's plane, to a pixel or two."""
    tiles.lacks_odd = False
    screen.goto(mapped.url + "/ponds/hollow-oak/plan")
    loaded(screen, 4)
    assert screen.get_by_text(CREDIT).is_visible()
    assert screen.locator("svg.seen-through .water").count() == 1
    assert not screen.locator("#map-missing").is_visible()
    line_mm = screen.evaluate(
        "(() => { const f = JSON.parse(document.getElementById('data').textContent).frame;"
        "return f.centre_x_mm - f.middle_x_m * f.scale_mm_m; })()"
    )
    # a strip at the upper edge, where no water is; half a millimetre to either side
    screen.locator("#plan").scroll_into_view_if_needed()
    assert colour_at(screen, line_mm - 0.5, 1.5) == WEST
    assert colour_at(screen, line_mm + 0.5, 1.5) == EAST
    assert not Axe().run(screen).response["violations"]
    before = len(tiles.asked)
    screen.get_by_role("button", name="Map", exact=True).click()
    assert colour_at(screen, line_mm - 0.5, 1.5) == (244, 241, 232)
    assert len(tiles.asked) == before


def test_tiles_that_are_missing_are_counted(screen, mapped, tiles):
    """What came stays, one line says how much did not."""
    tiles.lacks_odd = True
    screen.goto(mapped.url + "/ponds/hollow-oak/shore")
    screen.get_by_text("map tiles did not come from tiles.test").wait_for()
    tiles.lacks_odd = False
    assert screen.locator("#plan image").count() > 0


@pytest.mark.parametrize("path", ["/", "/ponds/hollow-oak/plan", "/ponds/hollow-oak/shore"])
def test_a_dead_server_of_tiles_leaves_the_plain_drawing(screen, unmapped, path):
    """One line says so, and everything is as it is without tiles."""
    screen.goto(unmapped.url + path)
    screen.get_by_text(f"No map: {NAME}").wait_for()
    assert not screen.get_by_text(CREDIT).is_visible()
    assert screen.locator("image").count() == 0
    if path != "/":
        assert screen.locator("svg.seen-through").count() == 0


def test_the_map_of_ponds_has_tiles_too(screen, mapped, tiles):
    """Marks over them stay ways to their ponds."""
    screen.goto(mapped.url + "/")
    loaded(screen, 4)
    assert screen.get_by_text(CREDIT).is_visible()
    screen.locator(".map a").last.click()
    screen.wait_for_url("**/ponds/hollow-oak*")


def test_without_an_address_no_page_asks_for_anything_elsewhere(chromium, oak_server):
    """Every page, with all that it loads."""
    context = chromium.new_context()
    page = context.new_page()
    asked = []
    page.on("request", lambda request: asked.append(request.url))
    for path in (
        *PATHS,
        "/ponds/hollow-oak/shore",
        "/ponds/hollow-oak/aerial",
        "/capture",
        "/captures",
        "/pair",
    ):
        page.goto(oak_server.url + path)
    context.close()
    assert len(asked) > 2 * len(PATHS)
    assert not [url for url in asked if not url.startswith((oak_server.url + "/", "data:", "blob:"))]
