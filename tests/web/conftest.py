"""A server over a database in a temporary folder, asked without a network."""

from __future__ import annotations

import functools
import re

import pytest
from argon2 import PasswordHasher
from starlette.testclient import TestClient
from tests.web.browsers import HOST, PASSWORD, Client

import plumeline
from plumeline.demo import demo_folder
from plumeline.stages.front import front
from plumeline.store import Folder, RunKind, open_store, people, read_folder, write_zip
from plumeline.store.people import Role
from plumeline.web import worker
from plumeline.web.app import make_app
from plumeline.web.standing import look_at_all


class Browser:
    """A person's browser: keeps cookies, sends the token of its forms."""

    def __init__(self, store) -> None:
        self.store = store
        self.client = TestClient(make_app(store), base_url=HOST, raise_server_exceptions=False)
        self.client.app.state.site.page_wait_s = 600.0  # a test wants the page itself
        self.get("/")

    def get(self, path, **more):
        return self.client.get(path, **more)

    def post(self, path, fields=None, **more):
        token = self.client.cookies["plumeline_form"]
        return self.client.post(
            path, data={"form_token": token, **(fields or {})}, follow_redirects=False, **more
        )

    def in_units(self, units):
        """Choose units by the form on every page: a cookie put in beside the server's would be a second one."""
        assert self.post("/units", {"units": units, "back": "/"}).status_code == 303
        return self

    def bring_in(self, data, name="hollow-oak.zip"):
        return self.post("/ponds/import", {"author": "office"}, files={"folder": (name, data)})


@pytest.fixture(autouse=True, scope="module")
def quick_passwords():
    """A hash of a password that takes no time; that the program's own is slow: tests/store/test_people.py."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(people, "_hasher", PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
        yield


@pytest.fixture
def store(tmp_path, empty_database):
    path = tmp_path / "plumeline.sqlite3"
    path.write_bytes(empty_database)
    found = open_store(path)
    yield found
    found.close()


@pytest.fixture
def browser(store):
    return Browser(store)


@pytest.fixture(scope="session")
def small_files(tmp_path_factory, small_job, small_plan):
    """The files of the small plan as the worker keeps them; made once, as papers in two systems take seconds."""
    store = open_store(tmp_path_factory.mktemp("files") / "plumeline.sqlite3")
    run = store.runs.ask(store.ponds.add_job(small_job, author="", reason="").pond_id, 1, "x")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("plumeline.stages.plan.make_plan", lambda job, **_: small_plan)
        worker.compute(store, store.runs.claim())
    assert store.runs.get(run.id).words == ""
    files = {path: store.runs.file(run.id, path) for path in store.runs.files(run.id)}
    store.close()
    return files


def make_alternatives(store, pond_id):
    """Have the worker make a pond's alternatives, of two simulated ponds a number, as the rest is alike."""
    store.runs.ask(pond_id, 1, plumeline.__version__, RunKind.ALTERNATIVES)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("plumeline.web.front_made.front_stage", functools.partial(front, members=2))
        worker.compute(store, store.runs.claim())


@pytest.fixture(scope="session")
def oak():
    """The demo folder with a name that is a script to a careless page."""
    folder = read_folder(demo_folder())
    job = folder.files["job.toml"].replace(
        b'name = "Hollow Oak"', b"name = \"<script>alert(1)</script> & 'oak'\""
    )
    return Folder("hollow-oak", {**folder.files, "job.toml": job})


@pytest.fixture(scope="session")
def oak_zip(oak):
    return write_zip(oak)


@pytest.fixture(scope="session")
def shared(tmp_path_factory, oak_zip):
    """One server with the demo pond in it, for tests that only look: its design is made once."""
    store = open_store(tmp_path_factory.mktemp("shared") / "plumeline.sqlite3")
    browser = Browser(store)
    assert browser.bring_in(oak_zip).status_code == 303
    look_at_all(store, browser.client.app.state.site.designs)
    browser.pond = re.sub(".*/", "", browser.get("/api/v1/ponds").json()[0]["id"])
    yield browser
    store.close()


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    """A store with the demo pond twice, and one of each role."""
    store = open_store(tmp_path_factory.mktemp("rights") / "plumeline.sqlite3")
    folder = read_folder(demo_folder())
    store.ponds.add(folder, author="", reason="")
    store.ponds.add(folder, author="", reason="")
    for name, role in (("Ada", Role.OFFICE), ("Cy", Role.CREW)):
        store.people.use_code(store.people.add(name, role), PASSWORD)
    yield store
    store.close()


@pytest.fixture(scope="module")
def app(place):
    return make_app(place, sign_in=True)


@pytest.fixture(scope="module")
def everybody(place, app):
    """A client of each kind, signed in; `elsewhere` holds a link to another pond."""
    found = {who: Client(app) for who in ("nobody", "crew", "office", "link", "elsewhere")}
    assert found["crew"].sign_in("cy").status_code == 303
    assert found["office"].sign_in("Ada").status_code == 303
    other = next(row.id for row in place.ponds.rows() if row.id != "hollow-oak")
    for who, pond in (("link", "hollow-oak"), ("elsewhere", other)):
        _link, secret = place.links.make(pond, "Ada")
        assert found[who].post("/link", {"code": f"{HOST}/link#{secret}"}, page="/link").status_code == 303
    return found
