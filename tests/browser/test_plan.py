"""The plan page under a hand: dragged, by keys, typed; undone through a reload; nothing lost in between."""

from __future__ import annotations

import gzip
import re
import urllib.request

import pytest
from axe_playwright_python.sync_playwright import Axe
from tests.browser.conftest import FLAGS, chromium_path

MOST_BYTES = 100_000
WITHIN_MS = 300


@pytest.fixture(scope="module")
def own_server(tmp_path_factory):
    """A server with the demo pond, of which the tests of this module save revisions."""
    from tests.browser.conftest import Server

    from plumeline.demo import demo_folder
    from plumeline.store import open_store, read_folder

    folder = tmp_path_factory.mktemp("plan-server")
    store = open_store(folder / "plumeline.sqlite3")
    store.ponds.add(read_folder(demo_folder()), author="office", reason="demo")
    store.close()
    found = Server(folder).start()
    yield found
    found.stop()


@pytest.fixture
def plan(page, own_server):
    """The plan page, its script at work."""
    page.goto(own_server.url + "/ponds/hollow-oak/plan")
    page.wait_for_selector("html[data-ready=plan]")
    return page


def east(page, name):
    """Return what the table says of a place's way east [ft], once the server has answered."""
    text = page.locator(f'tr[data-name="{name}"] input').nth(1).input_value()
    return float(text.split()[0])


def moved_to(page, name, other_than):
    """Wait until the table says another place than before and return it."""
    place = f"document.querySelector(`tr[data-name='{name}'] input.place`).value"
    page.wait_for_function(f"(before) => parseFloat({place}) !== before", arg=other_than)
    return east(page, name)


def middle(page, name):
    """Return the middle of a handle on the screen."""
    handle = page.locator(f'.handle[data-name="{name}"]')
    handle.scroll_into_view_if_needed()
    box = handle.locator("circle, rect").nth(1).bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_a_dragged_diffuser_is_followed_in_time(plan):
    """It is caught within 26 px of its middle; flows and lengths follow; the server's share is told."""
    before = east(plan, "B")
    x, y = middle(plan, "B")
    plan.mouse.move(x + 15, y + 15)
    plan.mouse.down()
    for n in range(1, 8):
        plan.mouse.move(x + 15 + 6 * n, y + 15)
    plan.mouse.up()
    assert moved_to(plan, "B", before) > before
    assert plan.locator("#unsaved").is_visible()
    took = [float(plan.locator("#plan").get_attribute(f"data-{which}-ms")) for which in ("took", "server")]
    assert took[1] <= took[0]


def test_every_move_by_keys_and_without_dragging(plan):
    """Arrow keys on the handle, the buttons of the table, tap and tap, and typed: each moves the same thing."""
    where = [east(plan, "C")]
    handle = plan.locator('.handle[data-name="C"]')
    handle.focus()
    plan.keyboard.press("ArrowLeft")
    where.append(moved_to(plan, "C", where[-1]))
    assert where[-1] == pytest.approx(where[-2] - 5.0, abs=0.11)
    plan.get_by_role("button", name="C to the west").press("Enter")
    where.append(moved_to(plan, "C", where[-1]))
    assert where[-1] == pytest.approx(where[-2] - 5.0, abs=0.11)
    field = plan.get_by_label("C, east of the middle")
    field.fill("-3 yd")
    field.press("Tab")
    where.append(moved_to(plan, "C", -3.0))
    assert where[-1] == pytest.approx(-9.0, abs=0.11)
    x, y = middle(plan, "C")
    plan.mouse.click(x, y)
    assert handle.get_attribute("aria-pressed") == "true"
    plan.mouse.click(x + 60, y)
    assert moved_to(plan, "C", where[-1]) > where[-1]


def cut_of(plan, name):
    """Return what the table says of a line's length to cut."""
    return plan.locator(f'tr[data-name="{name}"] [data-key=cut]').inner_text()


def test_a_line_is_bent_by_hand_by_keys_and_by_typing(plan):
    """Caught between its ends it bends; the bend is typed, moves by keys, goes with Delete and comes back by undo."""
    straight = cut_of(plan, "A")
    (x0, y0), (x1, y1) = middle(plan, ""), middle(plan, "A")
    x, y = (x0 + x1) / 2, (y0 + y1) / 2
    plan.mouse.move(x, y)
    plan.mouse.down()
    for n in range(1, 8):
        plan.mouse.move(x - 4 * n * (y1 - y0) / 100, y + 4 * n * (x1 - x0) / 100)
    plan.mouse.up()
    field = plan.get_by_label("A, its line is led through")

    def says(words):
        plan.wait_for_function("(words) => document.querySelector('#through1').value === words", arg=words)

    plan.wait_for_function("() => document.querySelector('#through1').value.split(',').length === 2")
    plan.wait_for_function(
        "(before) => document.querySelector(`tr[data-name=A] [data-key=cut]`).innerText !== before",
        arg=straight,
    )
    # answers to the drag may still come in: a place that no hand has held is told from them
    field.fill("-20 yd, -60 ft")
    field.press("Tab")
    says("-60.0 ft, -60.0 ft")
    bend = plan.locator(".handle[aria-label='Bend 1 of the line of A']")
    bend.focus()
    plan.keyboard.press("ArrowLeft")
    says("-65.0 ft, -60.0 ft")
    field.fill("nonsense")
    field.press("Tab")
    plan.get_by_role("alert").get_by_text("line of A, bend 1").wait_for()
    field.fill("-65 ft, -60 ft; -70 ft, -65 ft")
    field.press("Tab")
    says("-65.0 ft, -60.0 ft; -70.0 ft, -65.0 ft")
    second = plan.locator(".handle[aria-label='Bend 2 of the line of A']")
    second.focus()
    plan.keyboard.press("Delete")
    says("-65.0 ft, -60.0 ft")
    plan.locator("#undo").click()
    second.wait_for()
    plan.get_by_role("button", name="Take the bends out of the line of A").click()
    says("")
    assert cut_of(plan, "A") == straight
    plan.get_by_role("button", name="Bend the line of A").press("Enter")
    assert bend.evaluate("bend => bend === document.activeElement")
    plan.keyboard.press("Shift+ArrowUp")
    plan.wait_for_function("() => document.querySelector('#through1').value !== ''")


def test_on_a_phone_the_buttons_of_a_place_stand_apart_and_bends_have_room(plan):
    """8 px or more between two buttons of a row, so that none is hit for its neighbour; a field as wide as the page."""
    plan.set_viewport_size({"width": 390, "height": 844})
    near = plan.evaluate(
        """() => [...document.querySelectorAll("#places .nudges")].flatMap((cell) => {
          const all = [...cell.querySelectorAll("button")].map((one) => [one.textContent, one.getBoundingClientRect()]);
          const gap = (p, q) => Math.max(q.left - p.right, p.left - q.right, q.top - p.bottom, p.top - q.bottom);
          return all.flatMap(([name, p], at) => all.slice(at + 1).map(([other, q]) => [name, other, gap(p, q)]));
        }).filter(([, , gap]) => gap < 7.5)"""
    )
    assert near == []
    assert plan.locator("#places .nudges button").count() > 10
    assert plan.locator("#through1").bounding_box()["width"] > 300
    assert plan.evaluate("document.documentElement.scrollWidth") <= 390
    plan.set_viewport_size({"width": 1280, "height": 900})
    wide = plan.evaluate(
        "(box => box.scrollWidth - box.clientWidth)(document.querySelector('#places').parentElement)"
    )
    assert wide == 0, "the whole table is seen in the office"


def test_nonsense_typed_is_said_and_stays_in_the_field(plan):
    """The field keeps what was typed, the sketch stays as it was."""
    field = plan.get_by_label("A, north of the middle")
    field.fill("12 psi")
    field.press("Tab")
    plan.get_by_role("alert").get_by_text("A, north").wait_for()
    assert field.input_value() == "12 psi"
    assert not plan.locator("#unsaved").is_visible()
    plan.get_by_role("button", name="Save as the next revision").click()
    plan.get_by_role("alert").get_by_text("Not saved.").wait_for()
    assert field.input_value() == "12 psi"
    assert field.evaluate("field => field === document.activeElement")


def test_a_place_refused_at_the_save_is_told_at_its_field_until_it_is_mended(plan):
    """Dragged onto land: the words stand at the field with a link above, and go with the next good place."""
    sketch = plan.evaluate("JSON.parse(document.getElementById('data').textContent).sketch")
    sketch["diffusers"][0]["x_m"] = 900.0
    plan.evaluate(
        "(sketch) => { document.getElementById('sketch').value = JSON.stringify(sketch);"
        " HTMLFormElement.prototype.submit.call(document.getElementById('plan-form')); }",
        sketch,
    )
    plan.wait_for_selector("#summary a[href='#east1']")
    plan.wait_for_selector("html[data-ready=plan]")
    field = plan.locator("#east1")
    assert field.get_attribute("aria-invalid") == "true"
    assert "outside the water" in plan.locator("#east1-wrong").inner_text()
    field.fill("0 ft")
    field.press("Enter")
    plan.wait_for_selector("#east1-wrong", state="detached")
    assert field.get_attribute("aria-invalid") is None
    assert plan.locator("#summary").count() == 0


def test_a_hundred_steps_are_undone_after_a_reload_and_done_again(plan):
    """C8: undo of a hundred steps survives a reload; redo brings the last place back."""
    first = east(plan, "A")
    handle = plan.locator('.handle[data-name="A"]')
    plan.locator("#step").select_option(index=0)
    handle.focus()
    for _ in range(100):
        plan.keyboard.press("ArrowUp")
        plan.keyboard.press("ArrowDown")
    plan.keyboard.press("ArrowLeft")
    last = moved_to(plan, "A", first)
    plan.reload()
    plan.wait_for_selector("html[data-ready=plan]")
    assert moved_to(plan, "A", first) == last
    plan.evaluate("for (let n = 0; n < 100; n += 1) document.getElementById('undo').click()")
    assert moved_to(plan, "A", last) == first
    assert plan.locator("#undo").is_enabled()
    plan.evaluate("for (let n = 0; n < 100; n += 1) document.getElementById('redo').click()")
    assert moved_to(plan, "A", first) == last


def test_a_step_is_undone_after_the_browser_was_closed(playwright_driver, own_server, tmp_path):
    """C8: what was moved, and the way back, are there when the browser starts again."""
    first = moved = ""
    for key in ("ArrowRight", None):
        context = playwright_driver.chromium.launch_persistent_context(
            tmp_path / "profile", executable_path=chromium_path(), args=list(FLAGS)
        )
        page = context.new_page()
        page.set_default_timeout(120_000)
        page.goto(own_server.url + "/ponds/hollow-oak/plan")
        page.wait_for_selector("html[data-ready=plan]")
        if key:
            first = east(page, "A")
            page.locator('.handle[data-name="A"]').focus()
            page.keyboard.press(key)
            moved = moved_to(page, "A", first)
        else:
            assert page.locator("#unsaved").is_visible()
            assert (
                moved_to(page, "A", first) == moved
            )  # the server says where it lies, a moment after the page
            page.get_by_role("button", name="Undo").click()
            assert moved_to(page, "A", moved) == first
        context.close()


def test_added_taken_away_saved_and_kept(plan, own_server):
    """A diffuser more is in the saved revision, one taken away is not; the page begins anew from it."""
    plan.get_by_role("button", name="Add a diffuser").click()
    plan.locator('tr[data-name="D"] [data-key="flow"]').filter(has_text="scfm").wait_for()
    plan.get_by_role("button", name="Take C away").click()
    plan.wait_for_function("() => !document.querySelector('tr[data-name=C]')")
    plan.get_by_label("Your name").fill("Ada")
    plan.get_by_role("button", name="Save as the next revision").click()
    plan.wait_for_selector("html[data-ready=plan]")
    assert not plan.locator("#unsaved").is_visible()
    names = plan.locator("#places tbody tr").evaluate_all("rows => rows.map((row) => row.dataset.name)")
    assert names == ["", "A", "B", "D"]


def test_two_pages_of_one_pond_lose_nothing(plan, chromium, own_server):
    """The second to save is told, sees both, and saves its places over the newer revision."""
    context = chromium.new_context()
    other = context.new_page()
    other.goto(plan.url)
    other.wait_for_selector("html[data-ready=plan]")
    for page, key in ((other, "ArrowLeft"), (plan, "ArrowUp")):
        page.locator('.handle[data-name="A"]').focus()
        page.keyboard.press(key)
        page.locator("#unsaved").wait_for()
        page.get_by_role("button", name="Save as the next revision").click()
        page.wait_for_load_state()
    plan.get_by_role("alert").get_by_text("nothing was overwritten").wait_for()
    plan.wait_for_selector("html[data-ready=plan]")
    plan.get_by_role("button", name="Save as the next revision").click()
    plan.locator("#wrong").wait_for(state="hidden")
    context.close()


@pytest.mark.parametrize(("width", "dark"), [(1280, False), (390, True), (320, False)])
def test_axe_finds_nothing_and_nothing_scrolls_sideways(chromium, oak_server, width, dark):
    """Wide, a phone in the dark, and 320 px (WCAG 1.4.10)."""
    context = chromium.new_context(
        viewport={"width": width, "height": 800}, color_scheme="dark" if dark else "light"
    )
    page = context.new_page()
    page.goto(oak_server.url + "/ponds/hollow-oak/plan")
    page.wait_for_selector("html[data-ready=plan]")
    found = Axe().run(page).response["violations"]
    assert not [(item["id"], [node["html"][:120] for node in item["nodes"][:3]]) for item in found]
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    context.close()


def test_the_page_is_small(oak_server):
    """F3: page, styles and scripts together, compressed."""
    text = urllib.request.urlopen(oak_server.url + "/ponds/hollow-oak/plan").read()
    parts = [text]
    names = re.findall(r'(?:src|href)="(/static/[^"]+)"', text.decode())
    for name in names:  # grows by what each script imports
        parts.append(urllib.request.urlopen(oak_server.url + name).read())
        found = [f"/static/plan/{one}" for one in re.findall(r'from "\./(\w+\.js)"', parts[-1].decode())]
        names += [one for one in found if one not in names]
    assert "/static/plan/hands.js" in names
    size = sum(len(gzip.compress(part, 9)) for part in parts)
    assert 3_000 < size <= MOST_BYTES


def test_on_a_wide_screen_each_number_of_the_places_stands_on_one_line(page, oak_server):
    """At 1280 px, with its unit; nothing leads past the side of the table's box."""
    page.set_viewport_size({"width": 1280, "height": 900})
    page.goto(f"{oak_server.url}/ponds/hollow-oak/plan")
    page.wait_for_selector("html[data-ready=plan]")
    lines = page.evaluate(
        """() => [...document.querySelectorAll('#places tbody td.r')]
          .filter((cell) => cell.textContent.trim()).map((cell) => {
            const range = document.createRange();
            range.selectNodeContents(cell);
            return [cell.textContent, new Set([...range.getClientRects()].map((box) => Math.round(box.top))).size];
        })"""
    )
    assert len(lines) >= 15
    assert not [words for words, count in lines if count != 1]
    box = page.locator("#places").locator("..")
    assert box.evaluate("(box) => box.scrollWidth - box.clientWidth") <= 0
