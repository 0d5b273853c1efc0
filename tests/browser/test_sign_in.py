"""Sign-in in a real browser before a real server: the first code, people, a customer's link, and what the log holds."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from tests.browser.conftest import Server

from plumeline.demo import demo_folder
from plumeline.store import open_store, read_folder

PASSWORD = "three wet words"


@pytest.fixture
def closed_server(tmp_path):
    """A server that asks for a sign-in, with the demo pond; its first code is in `code`."""
    store = open_store(tmp_path / "plumeline.sqlite3")
    store.ponds.add(read_folder(demo_folder()), author="office", reason="demo")
    store.close()
    found = Server(tmp_path, "--sign-in").start()
    words = found._process.stdout.readline()
    found.code = re.search(r"code: ([A-Z2-9-]+)$", words)[1]
    yield found
    found.stop()


def clean(page):
    """Hold a page to axe, and to a narrow phone: nothing leads past its right side."""
    found = Axe().run(page)
    assert found.violations_count == 0, found.generate_report()
    usual = page.viewport_size
    page.set_viewport_size({"width": 320, "height": 640})
    assert page.evaluate("document.documentElement.scrollWidth") <= 320, page.url
    page.set_viewport_size(usual)


def test_from_the_first_code_to_an_acceptance(closed_server, page, chromium):
    """The office signs in, puts the crew down, makes a link; the customer opens it and accepts; no secret is logged."""
    url = closed_server.url
    page.goto(url + "/ponds/hollow-oak")
    assert page.url.startswith(f"{url}/signin")
    clean(page)
    page.get_by_label("Name").fill("Ada")
    page.get_by_label("Password").fill("not the one")
    page.get_by_role("button", name="Sign in").click()
    assert (
        page.get_by_role("alert").inner_text() == "Not signed in. Name and password do not belong together."
    )
    clean(page)
    page.get_by_role("link", name="set your password").click()
    clean(page)
    page.get_by_label("Code from the office").fill(closed_server.code)
    page.get_by_label("Your name, if you are the first").fill("Ada")
    page.get_by_label("New password").fill(PASSWORD)
    page.get_by_role("button", name="Set the password").click()
    page.get_by_role("link", name="Hollow Oak").first.wait_for()
    clean(page)
    page.get_by_role("link", name="People").click()
    page.get_by_label("Name").fill("Cy")
    page.get_by_role("button", name="Put down").click()
    crew_code = page.get_by_role("status").locator("code").first.inner_text()
    clean(page)
    page.goto(url + "/ponds/hollow-oak/links")
    page.get_by_role("button", name="Make a link").click()
    link = page.get_by_role("status").locator("code").inner_text()
    clean(page)

    customer = chromium.new_context()
    theirs = customer.new_page()
    theirs.goto(link)
    theirs.wait_for_url(url + "/customer")
    clean(theirs)
    assert theirs.goto(url + "/ponds/hollow-oak").status == 404
    theirs.goto(url + "/customer")
    theirs.get_by_label("Your name").fill("B. Owner")
    theirs.get_by_role("button", name="Accept").click()
    theirs.get_by_text("accepted by B. Owner").wait_for()
    assert theirs.locator("nav[aria-label=Everywhere] a").count() == 0
    customer.close()

    page.goto(url + "/signout")
    clean(page)
    page.get_by_role("button", name="Sign out").click()
    page.wait_for_url(url + "/signin")
    assert page.goto(url + "/people").status == 200
    assert page.url.startswith(f"{url}/signin")
    closed_server.stop()
    log = (closed_server.folder / "server.log").read_text()
    for secret in (link.rpartition("#")[2], crew_code, closed_server.code, PASSWORD):
        assert secret not in log
