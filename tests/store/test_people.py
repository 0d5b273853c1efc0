"""People, codes and links in the store: secrets are not in the file, what is over opens nothing."""

from __future__ import annotations

from datetime import timedelta

import pytest
from tests.store.test_capture_tables import at_step

from plumeline.errors import InputError
from plumeline.store import open_store
from plumeline.store.errors import NotThereError
from plumeline.store.people import Role, WrongCodeError
from plumeline.store.people_tables import customer_link, session

PASSWORD = "three wet words"


@pytest.mark.parametrize("step", ["0001", "0002"])
def test_an_older_database_gets_people(path, step):
    """The pond of before is there, and somebody can be put down."""
    at_step(path, step)
    store = open_store(path)
    try:
        assert store.ponds.count() == 1
        store.people.add("Ada", Role.OFFICE)
    finally:
        store.close()


def test_no_secret_stands_in_the_file(store, path, oak):
    """Code, password, session and link: none of their letters is found in the database's bytes."""
    store.ponds.add(oak, author="", reason="")
    code = store.people.add("Ada", Role.OFFICE)
    store.people.use_code(code, PASSWORD)
    token = store.people.sign_in("ADA", PASSWORD)
    _link, secret = store.links.make("hollow-oak", "Ada")
    entered = store.links.enter(secret)
    held = b"".join(file.read_bytes() for file in path.parent.glob("plumeline.sqlite3*"))
    for one in (code, code.replace("-", ""), PASSWORD, token, secret, entered):
        assert one.encode() not in held
    # RFC 9106 section 4, second recommended option: 3 passes, 4 lanes, 64 MiB
    assert b"$argon2id$v=19$m=65536,t=3,p=4$" in held


def test_what_is_over_opens_nothing(store, clock, oak):
    """A code after 7 days, a session and a link after 30."""
    store.ponds.add(oak, author="", reason="")
    late = store.people.add("Late", Role.CREW)
    store.people.use_code(store.people.add("Ada", Role.OFFICE), PASSWORD)
    token = store.people.sign_in("Ada", PASSWORD)
    _link, secret = store.links.make("hollow-oak", "Ada")
    entered = store.links.enter(secret)
    clock.time += timedelta(days=8)
    with pytest.raises(WrongCodeError, match="too old"):
        store.people.use_code(late, PASSWORD)
    assert store.people.of_session(token) is not None
    assert store.links.of_session(entered) is not None
    clock.time += timedelta(days=23)
    assert store.people.of_session(token) is None
    assert store.links.of_session(entered) is None
    assert store.links.enter(secret) is None
    with store.database.reading() as link:
        assert link.execute(session.select()).all()
    store.people.sign_in("Ada", PASSWORD)
    with store.database.reading() as link:
        kept = [row for row in link.execute(session.select()) if row.person_id]
        assert len(kept) == 1, "a sign-in takes away sessions that are over"
        assert len(link.execute(customer_link.select()).all()) == 1


def test_a_name_stands_once_whatever_its_capitals(store):
    """'ada  lane' is 'Ada Lane'; an empty name is none."""
    store.people.add("Ada Lane", Role.CREW)
    with pytest.raises(InputError, match="already"):
        store.people.add("  ada  LANE ", Role.OFFICE)
    with pytest.raises(InputError, match="1 to 60"):
        store.people.add(" ", Role.OFFICE)
    assert store.people.named("ADA LANE").name == "Ada Lane"


def test_the_first_code_names_the_first_person_and_a_wrong_password_leaves_it(store):
    """A refused password uses no code up; a second first code takes the first one's place."""
    old = store.people.first_code()
    code = store.people.first_code()
    with pytest.raises(InputError, match="guessed"):
        store.people.use_code(code, "password", name="Ada")
    with pytest.raises(WrongCodeError):
        store.people.use_code(old, PASSWORD, name="Ada")
    assert not store.people.any_can_sign_in()
    assert store.people.use_code(code, PASSWORD, name="Ada").role is Role.OFFICE
    assert store.people.any_can_sign_in()


def test_a_wrong_password_a_nobody_and_one_kept_out_are_alike(store):
    """None of them gets a session, and all take the time of a slow hash."""
    store.people.use_code(store.people.add("Ada", Role.OFFICE), PASSWORD)
    assert store.people.sign_in("Ada", PASSWORD + " ") is None
    assert store.people.sign_in("Bob", PASSWORD) is None
    store.people.disable(store.people.named("Ada").id)
    assert store.people.sign_in("Ada", PASSWORD) is None


def test_a_new_password_ends_the_sessions_of_its_person_and_no_other(store):
    """By a code, by the old password, or kept out: Ada's sessions end each time, Bo's never."""
    ids = {}
    for name in ("Ada", "Bo"):
        ids[name] = store.people.use_code(store.people.add(name, Role.CREW), PASSWORD).id
    other = store.people.sign_in("Bo", PASSWORD)
    own = store.people.sign_in("Ada", PASSWORD)
    store.people.use_code(store.people.new_code(ids["Ada"]), "four dry words more")
    assert store.people.of_session(own) is None
    own = store.people.sign_in("Ada", "four dry words more")
    new = store.people.change_password(ids["Ada"], "four dry words more", PASSWORD)
    assert store.people.of_session(own) is None
    assert store.people.of_session(new).name == "Ada"
    old = store.people.new_code(ids["Ada"])
    code, others_code = store.people.new_code(ids["Ada"]), store.people.new_code(ids["Bo"])
    assert store.people.of_code(old) is None
    assert store.people.of_code(code).name == "Ada"
    store.people.disable(ids["Ada"])
    assert store.people.of_session(new) is None
    assert store.people.of_session(other).name == "Bo"
    assert store.people.of_code(code) is None
    assert store.people.of_code(others_code).name == "Bo"
    store.people.end_session(other)
    assert store.people.of_session(other) is None


def test_a_password_beyond_all_measure_is_refused_and_never_hashed(store):
    """A thousand letters are taken, one more is not; at the sign-in it fits nobody."""
    with pytest.raises(InputError, match="1000 characters at most"):
        store.people.use_code(store.people.add("Ada", Role.CREW), "x y " * 250 + "z")
    code = store.people.add("Bo", Role.CREW)
    store.people.use_code(code, "x y " * 250)
    assert store.people.sign_in("Bo", "x y " * 250)
    assert store.people.sign_in("Bo", "x y " * 250 + "z") is None


def test_who_is_not_there_is_said_not_to_be(store):
    """By name and by id."""
    with pytest.raises(NotThereError, match="nobody named 'Cy'"):
        store.people.named("Cy")
    for ask in (store.people.new_code, store.people.disable):
        with pytest.raises(NotThereError, match="no such person"):
            ask("none")
