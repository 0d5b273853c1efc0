"""The browser's Back after a form: the page before is there again, nothing is sent twice, and nobody else reads it."""

from __future__ import annotations

import re

from tests.browser.conftest import Server
from tests.browser.test_main_job import ANSWERS

from plumeline.demo import demo_folder
from plumeline.store import open_store, read_folder

PASSWORD = "three wet words"
GAUGE = "5.8 furlongs"


def test_back_after_a_save_shows_the_form_as_it_was_answered(page, server):
    """Chromium refuses a page that answered a POST and may not be kept (ERR_CACHE_MISS); ours is asked for by GET."""
    page.goto(server.url + "/ponds/new")
    for label, words in ANSWERS.items():
        page.get_by_label(label).fill(words)
    page.get_by_role("button", name="Show how it is understood").click()
    page.get_by_role("button", name="Keep this pond").click()
    page.get_by_role("heading", name="Test pond").wait_for()
    answer = page.go_back()
    assert (answer.status, answer.request.method) == (200, "GET")
    assert page.get_by_text("This is how it was understood").is_visible()
    assert page.get_by_label("Greatest depth").input_value() == "14 ft"
    page.get_by_role("button", name="Keep this pond").click()
    page.get_by_role("heading", name="Test pond").wait_for()
    assert page.goto(server.url + "/").status == 200
    assert page.get_by_role("link", name="Test pond").count() == 1, "sent twice, it is kept once"


def test_reload_after_a_refusal_sends_nothing_and_back_stays_usable(page, oak_server):
    """The refused gauge is still in its field after a reload, and the page before is a step back."""
    page.goto(oak_server.url + "/ponds/hollow-oak")
    page.goto(oak_server.url + "/ponds/hollow-oak/visits")
    page.fill("#pressure", GAUGE)
    page.get_by_role("button", name="Keep the gauge").click()
    page.get_by_text("Not kept yet").wait_for()
    sent = []
    page.on("request", lambda request: sent.append(request.method))
    page.reload()
    assert page.input_value("#pressure") == GAUGE
    page.go_back()
    page.go_back()
    page.get_by_role("heading", name="Hollow Oak").first.wait_for()
    assert "POST" not in sent


def test_who_signed_out_leaves_nothing_to_go_back_to(page, tmp_path):
    """After a sign-out Back leads to the sign-in, on pages that were asked for and on the answer to a form alike."""
    store = open_store(tmp_path / "plumeline.sqlite3")
    store.ponds.add(read_folder(demo_folder()), author="office", reason="demo")
    store.close()
    server = Server(tmp_path, "--sign-in").start()
    try:
        code = re.search(r"code: ([A-Z2-9-]+)$", server._process.stdout.readline())[1]
        page.goto(server.url + "/welcome")
        page.get_by_label("Code from the office").fill(code)
        page.get_by_label("Your name, if you are the first").fill("Ada")
        page.get_by_label("New password").fill(PASSWORD)
        page.get_by_role("button", name="Set the password").click()
        page.goto(server.url + "/ponds/hollow-oak/visits")
        page.fill("#pressure", GAUGE)
        page.get_by_role("button", name="Keep the gauge").click()
        page.get_by_text("Not kept yet").wait_for()
        page.get_by_role("link", name="Sign out").click()
        page.get_by_role("button", name="Sign out").click()
        page.wait_for_url(server.url + "/signin")
        for _ in range(4):
            page.go_back()
            assert "Hollow Oak" not in page.content()
            assert GAUGE not in page.content()
    finally:
        server.stop()
