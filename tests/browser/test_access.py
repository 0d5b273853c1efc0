"""Every page and every refusal measured on a rendered screen: dark, narrow, enlarged, printed, by keys."""

from __future__ import annotations

import sqlite3

import pytest
from axe_playwright_python.sync_playwright import Axe

OAK = "/ponds/hollow-oak"
PATHS = ("/", "/ponds/new", "/bin", "/api", "/pair", "/captures", "/nowhere", *(f"{OAK}{rest}" for rest in (
    "", "/known", "/survey", "/reading", "/layout", "/plan", "/air", "/startup", "/files", "/files/edit?path=job.toml",
    "/history", "/visits", "/papers", "/links", "/nothing",
)))  # fmt: skip

OVERFLOWS = """() => {
  const wide = document.documentElement.clientWidth, lost = [];
  for (const item of document.querySelectorAll('a, button, input, select, textarea, summary, p, h1, h2')) {
    const box = item.getBoundingClientRect();
    if (item.closest('.scroll, pre, .skip, .unseen, svg') || item.type === 'hidden' || !box.width) continue;
    if (item.classList.contains('skip') || item.classList.contains('unseen')) continue;
    if (box.left < -1 || box.right > wide + 1) lost.push(item.outerHTML.slice(0, 100));
  }
  return {over_px: document.documentElement.scrollWidth - wide, lost};
}"""
SMALL = """() => [...document.querySelectorAll('a, button, input, select, textarea, summary')].filter(item => {
  const box = item.getBoundingClientRect();
  if (item.type === 'hidden' || !box.width || item.classList.contains('skip') || item.closest('svg')) return false;
  return box.width < 24 || box.height < 24;
}).map(item => `${item.getBoundingClientRect().height} ${item.outerHTML.slice(0, 100)}`)"""
OUTLINE = """() => {
  const item = document.activeElement, look = getComputedStyle(item);
  return [item.tagName, parseFloat(look.outlineWidth), look.outlineStyle, item.outerHTML.slice(0, 100)];
}"""


def faults(page):
    found = Axe().run(page).response["violations"]
    return [(item["id"], [node["html"][:120] for node in item["nodes"][:3]]) for item in found]


def measured(page):
    """Look at a page that is open: dark by axe; at 320 px, at 200 % zoom and text; targets."""
    page.emulate_media(color_scheme="dark")
    assert faults(page) == []
    page.emulate_media(color_scheme="light")
    for width_px, font_px in ((320, 18), (640, 18), (390, 36)):
        page.set_viewport_size({"width": width_px, "height": 800})
        page.evaluate(f"document.documentElement.style.fontSize = '{font_px}px'")
        found = page.evaluate(OVERFLOWS)
        assert found == {"over_px": 0, "lost": []}, (width_px, font_px, found)
    page.evaluate("document.documentElement.style.fontSize = ''")
    page.set_viewport_size({"width": 1280, "height": 800})
    assert page.evaluate(SMALL) == []


@pytest.mark.parametrize("path", PATHS)
def test_a_page_dark_narrow_enlarged_and_printed(page, oak_server, path):
    """WCAG 2.2: contrast in the dark, reflow (1.4.10), text at 200 % (1.4.4), targets (2.5.8); no control on paper."""
    page.goto(oak_server.url + path)
    measured(page)
    page.emulate_media(media="print", color_scheme="dark")
    seen = page.evaluate(
        "() => [...document.querySelectorAll('button, header nav, form')].filter(x => x.offsetHeight).length"
    )
    assert seen == 0
    assert page.evaluate("() => getComputedStyle(document.body).color") == "rgb(28, 28, 28)"


@pytest.mark.parametrize("path", ["/", OAK, f"{OAK}/visits"])
def test_where_the_keys_are_is_always_seen(page, oak_server, path):
    """WCAG 2.4.7: each stop of the Tab key has an outline of 2 px at least."""
    page.goto(oak_server.url + path)
    stops = 0
    for _ in range(40):
        page.keyboard.press("Tab")
        name, width_px, style, text = page.evaluate(OUTLINE)
        if name == "BODY":
            break
        stops += 1
        assert width_px >= 2 and style != "none", text  # noqa: PT018
    assert stops > 8


def refused(page, status_number, words):
    """The refusal is a page with its words, held to the same measures."""
    assert words in page.text_content("main")
    measured(page)


def send(page, selector):
    with page.expect_navigation() as found:
        page.click(selector)
    return found.value.status


def test_a_new_pond_of_nonsense(page, server):
    """422: every field keeps what was typed."""
    page.goto(f"{server.url}/ponds/new")
    page.fill("#name", "Lower pond")
    page.fill("#area", "wide")
    page.fill("#max_depth", "-3 furlongs")
    assert send(page, "button[value=look]") == 422
    assert page.input_value("#area") == "wide"
    refused(page, 422, "Not kept yet")


def test_answers_of_nonsense_about_a_pond(page, oak_server):
    """422: every field keeps what was typed, and so does every choice."""
    page.goto(f"{oak_server.url}{OAK}/known")
    page.fill("#max_depth", "deep")
    page.fill("#herbicide_date", "last week")
    page.check("#swimmers input[value=yes]")
    assert send(page, "button[value=save]") == 422
    assert page.input_value("#herbicide_date") == "last week"
    assert page.is_checked("#swimmers input[value=yes]")
    refused(page, 422, "Not saved")


def test_a_gauge_of_nonsense_and_a_file_of_nonsense(page, oak_server):
    """422 on the pages for visits and files; the text is still there, and nothing was saved."""
    page.goto(f"{oak_server.url}{OAK}/visits")
    page.fill("#pressure", "a lot")
    assert send(page, "main button.main") == 422
    assert page.input_value("#pressure") == "a lot"
    refused(page, 422, "Not kept yet")
    page.goto(f"{oak_server.url}{OAK}/files/edit?path=job.toml")
    page.fill("#text", "format = 'none'\n")
    assert send(page, "main button.main") == 422
    assert page.input_value("#text") == "format = 'none'\n"
    refused(page, 422, "Not saved")
    page.goto(f"{oak_server.url}{OAK}/history")
    assert page.locator("tbody tr").count() == 1


def test_a_failed_import_and_one_too_large(page, server, tmp_path):
    """422 and 413, each a page that says it."""
    page.goto(server.url)
    file = tmp_path / "..%2f..%2fetc.zip"
    file.write_bytes(b"no zip at all")
    page.set_input_files("#folder", file)
    assert send(page, "form[action='/ponds/import'] button") == 422
    refused(page, 422, "zip")
    page.goto(server.url)
    large = tmp_path / "large.zip"
    with large.open("wb") as stream:
        stream.truncate(70 * 2**20)
    page.set_input_files("#folder", large)
    assert send(page, "form[action='/ponds/import'] button") == 413
    refused(page, 413, "nothing was kept")


def test_an_old_form_is_sent_again(page, server):
    """403: what was typed stands on the page, and one button sends it with a new token."""
    page.goto(f"{server.url}/ponds/new")
    page.fill("#name", "Lower <b>pond</b>")
    page.evaluate("document.querySelector('main [name=form_token]').value = 'x'.repeat(48)")
    assert send(page, "button[value=look]") == 403
    refused(page, 403, "stands below")
    send(page, "button.main")
    assert page.input_value("#name") == "Lower <b>pond</b>"


def test_a_database_that_is_held_by_another_is_told(page, server):
    """503: a page in words; afterwards the form still works."""
    page.goto(f"{server.url}/ponds/new")
    link = sqlite3.connect(server.database)
    link.execute("BEGIN EXCLUSIVE")
    page.set_default_timeout(60_000)
    answer = page.goto(f"{server.url}/")
    assert answer.status == 503
    refused(page, 503, "database")
    link.rollback()
    link.close()
    assert page.goto(f"{server.url}/").status == 200


def test_saved_in_between_shows_both(page, server):
    """409: theirs beside mine, mine still in the field."""
    from plumeline.demo import demo_folder
    from plumeline.store import open_store, read_folder

    store = open_store(server.database)
    pond = store.ponds.add(read_folder(demo_folder()), author="office", reason="demo")
    page.goto(f"{server.url}/ponds/{pond.pond_id}/files/edit?path=job.toml")
    text = page.input_value("#text")
    folder = store.ponds.folder(pond.pond_id)
    changed = {**folder.files, "notes.txt": b"of the other"}
    store.ponds.save_files(pond.pond_id, changed, expected_number=1, author="crew", reason="")
    store.close()
    page.fill("#text", text + "\n# mine\n")
    assert send(page, "main button.main") == 409
    assert page.input_value("#text").endswith("# mine\n")
    refused(page, 409, "As it stands now")
