"""The page of the shore under a hand: corners and soundings dragged, tapped, typed, undone and saved."""

from __future__ import annotations

import json

import pytest
from axe_playwright_python.sync_playwright import Axe

BARE = b"""name = "Bare Pond"
[site]
latitude_longitude_elevation = "35.91, -79.72, 680 ft"
[pond]
area = "1.6 acre"
max_depth = "14 ft"
"""


@pytest.fixture(scope="module")
def own_server(tmp_path_factory):
    """A server with the demo pond, and one that has no shore yet."""
    from tests.browser.conftest import Server

    from plumeline.demo import demo_folder
    from plumeline.store import Folder, open_store, read_folder

    folder = tmp_path_factory.mktemp("shore-server")
    store = open_store(folder / "plumeline.sqlite3")
    store.ponds.add(read_folder(demo_folder()), author="office", reason="demo")
    store.ponds.add(Folder("bare", {"job.toml": BARE}), author="office", reason="bare")
    store.close()
    found = Server(folder).start()
    yield found
    found.stop()


def opened(page, server, pond):
    """Return the page of a pond's shore, its script at work."""
    page.goto(f"{server.url}/ponds/{pond}/shore")
    page.wait_for_selector("html[data-ready=shore]")
    return page


def lines(page, which="corner"):
    """Return the lines of the text under the drawing."""
    return page.locator(f"#{which}-lines").input_value().splitlines()


def middle(page, name):
    """Return the middle of a handle on the screen."""
    handle = page.locator(f'.handle[data-name="{name}"]')
    handle.scroll_into_view_if_needed()
    box = handle.locator("rect, circle").nth(1).bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def sums(page):
    return page.locator("#sums").inner_text()


def test_a_corner_dragged_is_surveyed_undone_after_a_reload_and_saved(page, own_server):
    """Area and water follow the drag; undo outlives a reload; the saved file has the corner moved."""
    opened(page, own_server, "hollow-oak")
    before, text = sums(page), lines(page)
    x, y = middle(page, "c5")
    page.mouse.move(x, y)
    page.mouse.down()
    for n in range(1, 7):
        page.mouse.move(x + 5 * n, y + 3 * n)
    page.mouse.up()
    page.wait_for_function("(before) => document.getElementById('sums').innerText !== before", arg=before)
    changed = lines(page)
    assert [a == b for a, b in zip(text, changed, strict=True)].count(False) == 1
    page.reload()
    page.wait_for_selector("html[data-ready=shore]")
    assert lines(page) == changed
    page.get_by_role("button", name="Undo").click()
    assert lines(page) == text
    page.get_by_role("button", name="Redo").click()
    assert lines(page) == changed
    page.get_by_role("button", name="Save as the next revision").click()
    page.wait_for_selector("html[data-ready=shore]")
    assert page.locator("#unsaved").is_hidden()
    assert page.locator("input[name=number]").first.input_value() == "2"
    assert len(lines(page)) == len(changed)


def ring_of(page):
    """Return the corners that the drawing shows as the shore, in order from the least, to a tenth of a millimetre."""
    lines = page.evaluate("""() => [...document.querySelectorAll('#plan svg path[stroke="#1c1c1c"][fill="none"]')]
        .filter((path) => path.getAttribute('stroke-linecap') && path.getAttribute('stroke-width') === '0.6')
        .map((path) => path.getAttribute('d'))""")
    ring, sides = (
        [tuple(round(float(v), 1) for v in place.split()) for place in line.strip("MZ").split("L")]
        if line
        else []
        for line in lines
    )
    return sorted(set(ring) | set(sides)), bool(sides)


def test_a_corner_under_a_hand_is_drawn_where_it_lies_and_old_numbers_are_marked(page, own_server):
    """The shore follows with two sides alone; numbers of before are marked until theirs are there, layout's longest."""
    opened(page, own_server, "hollow-oak")
    waits = []
    page.route("**/shore/sketch", lambda route: waits.append(route))
    before = page.locator("#before")
    assert not before.is_visible()
    marked = "row => getComputedStyle(row.querySelector('dd'), '::after').content"
    x, y = middle(page, "c6")
    page.mouse.move(x, y)
    page.mouse.down()
    for n in range(1, 5):
        page.mouse.move(x + 4 * n, y - 3 * n)
    page.wait_for_function("() => document.body.dataset.before === 'all'")
    assert before.is_visible()
    dragged, is_apart = ring_of(page)
    assert is_apart
    page.mouse.up()
    page.wait_for_timeout(50)
    let_go, is_apart = ring_of(page)
    assert not is_apart
    assert let_go == dragged
    assert set(page.locator("#sums > div").evaluate_all(f"rows => rows.map({marked})")) == {'" …"'}

    def answered_until(state):
        while page.evaluate("document.body.dataset.before") != state:
            if waits:
                waits.pop(0).continue_()
            page.wait_for_timeout(20)

    answered_until("laid-out")
    assert (
        page.locator("#sums > div").evaluate_all(f"rows => rows.map({marked})") == ["none"] * 6 + ['" …"'] * 2
    )
    answered_until("")
    assert not before.is_visible()
    page.unroute("**/shore/sketch")
    page.get_by_role("button", name="Undo").click()
    page.wait_for_function("() => document.body.dataset.before === ''")


def test_a_sounding_is_set_by_a_tap_and_a_typed_depth(page, own_server):
    """Without a depth it is not saved and that is said; nonsense stays in the field; then it counts."""
    opened(page, own_server, "hollow-oak")
    count = len(lines(page, "sounding"))
    page.get_by_label("sets a sounding").check()
    box = page.locator("#plan svg").bounding_box()
    page.mouse.click(box["x"] + box["width"] * 0.5, box["y"] + box["height"] * 0.47)
    field = page.get_by_label("Depth, with its unit")
    assert field.evaluate("field => field === document.activeElement")
    page.get_by_role("button", name="Save as the next revision").click()
    page.get_by_role("alert").get_by_text("no depth yet").wait_for()
    for nonsense, words in (("7 psi", "depth"), ("7", "has no unit")):
        field.fill(nonsense)
        field.press("Enter")
        page.get_by_role("alert").get_by_text(words).first.wait_for()
        assert field.input_value() == nonsense
    field.fill("7 ft 6 in")
    field.press("Enter")
    page.wait_for_function(
        "(count) => document.getElementById('sounding-lines').value.split('\\n').length === count",
        arg=count + 1,
    )
    assert lines(page, "sounding")[-1].endswith(", 7.5 ft")
    page.get_by_role("button", name="Take away").click()
    assert len(lines(page, "sounding")) == count


def test_lines_that_can_not_be_read_are_not_dropped(page, own_server):
    """Soundings typed as text with one that can't be read: no save goes without them, and no drag writes over them."""
    opened(page, own_server, "hollow-oak")
    number = page.locator("input[name=number]").first.input_value()
    box = page.locator("#sounding-lines")
    typed = box.input_value() + "\n0, 0, 11.5 ft\n10 ft, 10 ft, 8 ft"
    box.fill(typed)
    page.get_by_role("button", name="Save as the next revision").click()
    page.get_by_role("alert").get_by_text("has no unit").wait_for()
    page.wait_for_selector("html[data-ready=shore]")
    assert page.locator("input[name=number]").first.input_value() == number
    assert page.locator("#sounding-lines").input_value() == typed
    page.locator('.handle[data-name="c2"]').focus()
    page.keyboard.press("ArrowLeft")
    assert page.locator("#sounding-lines").input_value() == typed
    page.locator("#sounding-lines").fill(typed.replace("0, 0, 11.5", "0 ft, 0 ft, 11.5"))
    page.get_by_role("button", name="Save as the next revision").click()
    page.wait_for_selector(f'input[name=number][value="{int(number) + 1}"]', state="attached")
    assert len(lines(page, "sounding")) == len(typed.splitlines())


def test_keys_alone_move_type_and_take_away(page, own_server):
    """Arrow keys on a corner, its place typed, Delete, and Ctrl+Z."""
    opened(page, own_server, "hollow-oak")
    text = lines(page)
    page.locator('.handle[data-name="c2"]').focus()
    page.keyboard.press("ArrowLeft")
    east = [float(line.split()[0]) for line in (text[2], lines(page)[2])]
    assert east[1] == pytest.approx(east[0] - 5.0, abs=0.11)
    page.keyboard.press("Enter")
    field = page.get_by_label("East of the middle")
    assert field.evaluate("field => field === document.activeElement")
    field.fill(f"{(east[0] + 3.0) / 3.0:.3f} yd")
    field.press("Tab")
    page.wait_for_function(
        "(old) => document.getElementById('corner-lines').value.split('\\n')[2] !== old", arg=lines(page)[2]
    )
    assert float(lines(page)[2].split()[0]) == pytest.approx(east[0] + 3.0, abs=0.11)
    page.locator('.handle[data-name="c3"]').focus()
    page.keyboard.press("Delete")
    assert len(lines(page)) == len(text) - 1
    for _ in range(3):
        page.keyboard.press("Control+z")
    assert lines(page) == text


def test_a_shore_is_drawn_from_nothing_by_taps(chromium, own_server):
    """On a phone, by touch: four taps, four corners in order; area follows; saved as outline.geojson."""
    context = chromium.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    page = opened(context.new_page(), own_server, "bare-pond")
    assert page.get_by_text("No shore was drawn yet").is_visible()
    page.locator("#plan").scroll_into_view_if_needed()
    box = page.locator("#plan svg").bounding_box()
    for across, down in ((0.3, 0.3), (0.7, 0.3), (0.7, 0.7), (0.3, 0.7)):
        page.touchscreen.tap(box["x"] + box["width"] * across, box["y"] + box["height"] * down)
    assert len(lines(page)) == 4
    page.wait_for_function("() => document.getElementById('plan').dataset.tookMs")
    page.get_by_role("button", name="Save as the next revision").click()
    page.wait_for_selector("html[data-ready=shore]")
    assert page.get_by_text("No shore was drawn yet").count() == 0
    raw = page.request.get(f"{own_server.url}/ponds/bare-pond/files/edit?path=outline.geojson").text()
    assert "Polygon" in raw
    context.close()


def test_a_server_that_is_gone_loses_nothing(page, own_server):
    """What is drawn while nobody answers is said to be kept, survives a reload and is surveyed later."""
    opened(page, own_server, "hollow-oak")
    text = lines(page)
    page.route("**/shore/sketch", lambda route: route.abort())
    page.locator('.handle[data-name="c7"]').focus()
    page.keyboard.press("ArrowUp")
    page.get_by_role("alert").get_by_text("does not answer").wait_for()
    page.unroute("**/shore/sketch")
    page.wait_for_function("() => document.getElementById('wrong').hidden", timeout=15_000)
    assert lines(page) != text
    page.evaluate("localStorage.setItem('plumeline plan hollow-oak shore', '{\"number\": 1, \"done\": 7}')")
    page.reload()
    page.wait_for_selector("html[data-ready=shore]")
    assert lines(page) == text


@pytest.mark.parametrize(("width", "dark"), [(1280, False), (390, True), (320, False)])
def test_axe_finds_nothing_and_nothing_scrolls_sideways(chromium, own_server, width, dark):
    """Wide, a phone in the dark, and 320 px; with a thing chosen."""
    context = chromium.new_context(
        viewport={"width": width, "height": 800}, color_scheme="dark" if dark else "light"
    )
    page = opened(context.new_page(), own_server, "hollow-oak")
    page.locator('.handle[data-name="s4"]').press("Enter")
    found = Axe().run(page).response["violations"]
    assert not [(item["id"], [node["html"][:120] for node in item["nodes"][:3]]) for item in found]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert json.loads(page.locator("#data").text_content())["pond"] == "hollow-oak"
    context.close()


def test_an_aerial_photo_is_laid_by_taps_and_lies_under_the_plan(page, own_server, tmp_path):
    """Taps on photo and plan in turn, numbered on both; it lies under plan and shore, off and on; axe finds nothing."""
    from PIL import Image

    path = tmp_path / "air.png"
    Image.new("RGB", (900, 700), "olive").save(path)
    page.goto(f"{own_server.url}/ponds/hollow-oak/aerial")
    page.get_by_label("JPEG, PNG or WebP").set_input_files(path)
    page.get_by_role("button", name="Bring this photo in").click()
    page.wait_for_selector("#photo")
    page.wait_for_selector("html[data-ready=aerial]")
    for across, down in ((0.2, 0.2), (0.8, 0.7), (0.5, 0.5)):
        for one in ("#photo", "#ground"):
            box = page.locator(one).bounding_box()
            page.locator(one).click(position={"x": box["width"] * across, "y": box["height"] * down})
    assert page.locator("#photo .known").all_text_contents() == ["1", "2", "3"]
    assert page.locator("#ground .known").all_text_contents() == ["1", "2", "3"]
    page.get_by_role("button", name="Take the last point back").click()
    assert page.locator(".known").all_text_contents() == ["1", "2"] * 2
    assert len(page.get_by_label("Known points").input_value().split()) == 12
    seen = page.locator("#ground .known circle").first.bounding_box()
    box = page.locator("#ground").bounding_box()
    assert seen["x"] + seen["width"] / 2 == pytest.approx(box["x"] + 0.2 * box["width"], abs=2)
    assert not Axe().run(page).response["violations"]
    page.get_by_role("button", name="Lay the photo").click()
    page.get_by_text("turned and scaled by two points").wait_for()
    page.locator("#ground.seen-through image").wait_for()
    page.get_by_role("button", name="Photo under the plan").click()
    assert page.locator("#ground image").is_hidden()
    page.get_by_role("button", name="Photo under the plan").click()
    page.get_by_text("Another photo").click()
    assert not Axe().run(page).response["violations"]
    for name in ("plan", "shore"):
        page.goto(f"{own_server.url}/ponds/hollow-oak/{name}")
        page.wait_for_selector(f"html[data-ready={name}]")
        assert page.locator("#plan image").bounding_box()["width"] > 100
        page.get_by_role("button", name="Aerial photo").click()
        assert page.locator("#plan image").is_hidden()
        page.get_by_role("button", name="Aerial photo").click()
        assert page.locator("#plan image").is_visible()


def marked(page):
    """Return how many walls the drawing shows."""
    return (page.locator("path.wall-mark").get_attribute("d") or "").count("M")


@pytest.mark.parametrize("by_keys", [False, True], ids=["by taps", "by keys"])
def test_a_wall_is_marked_between_two_corners_undone_and_saved(page, own_server, by_keys):
    """Two corners, the depth at the foot; a line of text and a bar each; the undo takes both back."""
    opened(page, own_server, "hollow-oak")
    before, text = marked(page), page.locator("#wall-lines").input_value()
    page.get_by_label("on two corners marks a wall").check()

    def choose(name):
        if by_keys:
            page.locator(f'.handle[data-name="{name}"]').focus()
            page.keyboard.press("Enter")
        else:
            page.mouse.click(*middle(page, name))

    def mark(first, last):
        choose(first)
        assert "choose the corner where it ends" in page.locator("#told").inner_text()
        choose(last)
        assert page.locator("#wall-depth").evaluate("(field) => field === document.activeElement")
        page.keyboard.type("3 ft")
        page.keyboard.press("Enter")

    mark("c1", "c4")
    assert page.locator("#wall-lines").input_value().splitlines()[-1] == "corner 2; corner 5; 3 ft"
    assert marked(page) == before + 1
    page.get_by_role("button", name="Take the last wall back").click()
    assert page.locator("#wall-lines").input_value() == text
    assert marked(page) == before
    mark("c6", "c9")
    page.get_by_role("button", name="Save the walls as the next revision").click()
    page.wait_for_selector("html[data-ready=shore]")
    assert marked(page) == before + 1
    assert page.locator("#wall-lines").input_value().strip().endswith("3 ft")
    assert not Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa"]}).response["violations"]


def test_a_wall_waits_for_the_shore_that_it_stands_on(page, own_server):
    """A corner that was moved and not saved: its number is that of another shore, and this is said."""
    opened(page, own_server, "hollow-oak")
    page.locator('.handle[data-name="c3"]').focus()
    page.keyboard.press("ArrowUp")
    page.get_by_label("on two corners marks a wall").check()
    page.locator('.handle[data-name="c1"]').focus()
    page.keyboard.press("Enter")
    assert "Save the shore first" in page.locator("#wrong").inner_text()
    assert page.locator("#wall").is_hidden()
    page.get_by_role("button", name="Undo", exact=True).click()


def test_a_saved_wall_is_taken_out_by_keys_and_a_refused_one_stays_where_it_was_typed(page, own_server):
    """Tab and Enter; the bar goes with its line; undo brings both back; a wall that can't be is told at its field."""
    opened(page, own_server, "hollow-oak")
    before = marked(page)
    field = page.locator("#wall-lines")
    kept = field.input_value()
    field.fill(f"{kept}\ncorner 20; corner 500; 3 ft".strip())
    page.get_by_role("button", name="Save the walls as the next revision").click()
    page.wait_for_selector("html[data-ready=shore]")
    assert field.input_value().endswith("corner 20; corner 500; 3 ft")
    assert "Corner 500" in page.locator("#wall-lines-wrong").inner_text()
    assert page.locator("#unsaved").is_hidden()
    assert page.locator("#wall-unsaved").is_visible()
    field.fill(f"{kept}\ncorner 20; corner 24; 3 ft".strip())
    page.get_by_role("button", name="Save the walls as the next revision").click()
    page.get_by_text("Marked: the wall from corner 20 to corner 24").wait_for()
    page.wait_for_selector("html[data-ready=shore]")
    assert marked(page) == before + 1
    button = page.get_by_role("button", name="Take this wall out").last
    button.focus()
    page.keyboard.press("Enter")
    page.get_by_text("Taken out: the wall from corner 20 to corner 24").wait_for()
    page.wait_for_selector("html[data-ready=shore]")
    assert marked(page) == before
    assert not Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa"]}).response["violations"]
    page.get_by_role("button", name="Undo: the walls as they were before").press("Enter")
    page.get_by_text("Marked: the wall from corner 20 to corner 24").wait_for()
    page.wait_for_selector("html[data-ready=shore]")
    assert marked(page) == before + 1
    # what is drawn on the shore is not lost with a wall
    page.locator('.handle[data-name="c3"]').focus()
    page.keyboard.press("ArrowUp")
    page.get_by_role("button", name="Take this wall out").last.press("Enter")
    page.get_by_text("Save the shore first, or take back what was drawn").wait_for()
    page.get_by_role("button", name="Undo", exact=True).click()
