"""What answers, forms and descriptions promise: what the headers say, no field of numbers, limits with units."""

from __future__ import annotations

import json
import re

import pytest
from tests.test_names_carry_units import carries_unit
from tests.web.browsers import Client

from plumeline.store.people import Role
from plumeline.web.app import make_app
from plumeline.web.guard import HEADERS
from plumeline.web.site import FOLDER

PASSWORD = "three wet words"


def test_the_headers_say_what_they_must():
    """ASVS 5.0, 3.4.3 to 3.4.6, by value: nothing inline, no eval, plugin, foreign base or frame."""
    policy = dict(part.strip().split(" ", 1) for part in HEADERS["Content-Security-Policy"].split(";"))
    assert policy["default-src"] == "'none'", "plugins (object-src), frames and workers fall under it"
    assert "object-src" not in policy
    assert (policy["script-src"], policy["style-src"]) == ("'self'", "'self'")
    assert (policy["base-uri"], policy["frame-ancestors"], policy["form-action"]) == (
        "'none'",
        "'none'",
        "'self'",
    )
    assert not re.search(r"unsafe|https?:|\*", HEADERS["Content-Security-Policy"])
    assert HEADERS["X-Content-Type-Options"] == "nosniff"
    assert HEADERS["Referrer-Policy"] in ("no-referrer", "same-origin"), "no address goes to another site"
    assert "Strict-Transport-Security" not in HEADERS, "it would shut out who took the trust away"


@pytest.mark.parametrize(("unsent", "cleared"), [("0", '"cache"'), ("2", None), ("", None)])
def test_kept_pages_are_let_go_at_sign_out_where_nothing_waits(store, unsent, cleared):
    """ASVS 5.0, 14.3.1, and our deviation: unsent readings, or a browser that does not say, keep what is there."""
    store.people.use_code(store.people.add("Ada", Role.OFFICE), PASSWORD)
    client = Client(make_app(store, sign_in=True))
    assert client.sign_in("Ada").status_code == 303
    answer = client.post("/signout", {"unsent_count": unsent}, page="/signout")
    assert answer.status_code == 303
    assert answer.headers.get("clear-site-data") == cleared
    assert client.http.get("/").headers["location"].startswith("/signin")


def test_no_field_is_a_field_of_numbers():
    """Typed values are text: browsers' number fields refuse commas, fractions and feet with inches."""
    texts = {
        path: path.read_text(encoding="utf-8")
        for kind in ("*.html", "*.js", "*.py")
        for path in FOLDER.rglob(kind)
    }
    assert sum('type="text"' in text for text in texts.values()) > 10
    for path, text in texts.items():
        assert not re.search(r"""type\s*=\s*\\?["']?(number|range)\b|\.type = ["']number""", text), path.name


def test_no_script_looks_behind():
    """A phone of before 2023 reads no look-behind in a pattern (Safari 16.4, from memory): the page would be dead."""
    scripts = sorted((FOLDER / "static").rglob("*.js"))
    assert scripts
    assert [path.name for path in scripts if re.search(r"\(\?<[=!]", path.read_text(encoding="utf-8"))] == []


def test_the_description_refers_to_nothing_that_is_not_there(store):
    """Each reference leads to a part of the same document (RFC 6901)."""
    said = make_app(store).openapi()
    refs = set(re.findall(r'"\$ref": "([^"]+)"', json.dumps(said)))
    assert len(refs) > 30
    for ref in refs:
        there = said
        for step in ref.removeprefix("#/").split("/"):
            assert step in there, ref
            there = there[step]


def numbers_in(schema, parts, name="", seen=()):
    """Yield each number of a schema with its name."""
    if isinstance(schema, list):
        for one in schema:
            yield from numbers_in(one, parts, name, seen)
    elif isinstance(schema, dict):
        ref = schema.get("$ref")
        if ref and ref not in seen:
            yield from numbers_in(parts[ref.rpartition("/")[2]], parts, name, (*seen, ref))
        if schema.get("type") in ("number", "integer") and not {"const", "enum"} & schema.keys():
            yield name, schema
        for key in ("anyOf", "oneOf", "allOf", "items", "prefixItems"):
            yield from numbers_in(schema.get(key), parts, name, seen)
        for key, one in schema.get("properties", {}).items():
            yield from numbers_in(one, parts, key, seen)


def test_every_number_that_is_taken_has_its_limits_and_its_unit(store):
    """The least, the greatest and, in its name, the unit of each number of every request stand in the description."""
    said = make_app(store).openapi()
    parts = said["components"]["schemas"]
    found = []
    for methods in said["paths"].values():
        for what in methods.values():
            for one in what.get("parameters", []):
                found += numbers_in(one["schema"], parts, one["name"])
            for kind in what.get("requestBody", {}).get("content", {}).values():
                found += numbers_in(kind["schema"], parts)
    assert len(found) > 300
    least, most = {"minimum", "exclusiveMinimum"}, {"maximum", "exclusiveMaximum"}
    assert not {name for name, one in found if not (least & one.keys() and most & one.keys())}
    kinds = {"number": {"float"}, "integer": {"int"}}
    bare = {name for name, one in found if not carries_unit(name, kinds[one["type"]], private=False)}
    assert bare <= {"revision"}, "of an address: the number of a save"
