"""The API held to its own description: requests made from it by schemathesis, answers looked at.

Shared by the test (a few examples each) and `make soak` (1,000 each).
"""

from __future__ import annotations

import re
from collections import Counter
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import seed as seeded
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from plumeline.demo import demo_folder
from plumeline.store import open_store, read_folder, write_zip
from plumeline.web.app import make_app
from plumeline.web.problems import PROBLEM

HOST = "http://127.0.0.1:8621"
WAIT_S = 120
"""The first answer of a stage may wait for a kernel to be compiled."""
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]


@contextmanager
def api_in(folder):
    """Give the application with the demo pond and a run in it, and the ids of both."""
    store = open_store(folder / "plumeline.sqlite3")
    store.ponds.add(read_folder(demo_folder()), author="", reason="")
    run = store.runs.ask("hollow-oak", 1, "1")
    yield make_app(store), {"pond_id": "hollow-oak", "run_id": run.id}
    store.close()


@st.composite
def zips(draw):
    """Return a job folder as a zip: whole, with a byte changed, cut short, or no zip at all."""
    data = write_zip(read_folder(demo_folder()))
    kind = draw(st.sampled_from(["whole", "changed", "cut", "none"]))
    place_number = draw(st.integers(0, len(data) - 1))
    if kind == "changed":
        return data[:place_number] + bytes([draw(st.integers(0, 255))]) + data[place_number + 1 :]
    if kind == "cut":
        return data[:place_number]
    return data if kind == "whole" else draw(st.binary(max_size=200))


schemathesis.openapi.media_type("application/zip", zips())


@schemathesis.serializer("application/zip")
def as_it_is(_context, value):
    """Send bytes as they are, and anything else as its text."""
    return value if isinstance(value, bytes) else str(value).encode()


def operations():
    """Return the operations that the description lists."""
    with TemporaryDirectory() as folder:
        store = open_store(Path(folder) / "plumeline.sqlite3")
        schema = schemathesis.openapi.from_dict(make_app(store).openapi())
        store.close()
    return [found.ok() for found in schema.get_all_operations()]


def there(case, ids):
    """Put the ids of what is there in the place of made-up ones: else most answers are 404."""
    for key, value in ids.items():
        if key in case.path_parameters:
            case.path_parameters[key] = value


def own_id(case):
    """An item's id is that of its address; a pattern's end lets a line end by in Python, not in JSON's schema."""
    if "item_id" in case.path_parameters and isinstance(case.body, dict):
        case.path_parameters["item_id"] = case.path_parameters["item_id"].strip()
        case.body["id"] = case.path_parameters["item_id"]


ONE_FIELD = re.compile(
    r"(?!Value error)(Field required|Unable to|(Input|String|List|Tuple|Value|Data|Datetime)\b)"
)
"""How the library that reads requests begins what it says of one field by itself."""


def read_as_said(answer):
    """Tell whether what the description allows was understood: a refusal is of fields that don't go together."""
    return not any(ONE_FIELD.match(fault["problem"]) for fault in answer.json()["faults"])


def answers_held(api, path, method, mode, examples, seed=None):
    """Ask one operation so often; return how often each status was answered.

    Args:
        api: the application and the ids of what is there.
        path: of the operation.
        method: of the operation.
        mode: whether requests are as described or spoilt.
        examples: how many requests are made.
        seed: another draws others; None draws the same each time.

    Raises:
        hypothesis.errors.Unsatisfiable: nothing of it can be spoilt.
    """
    app, ids = api
    schema = schemathesis.openapi.from_asgi("/api/v1/openapi.json", app, headers={"Host": "127.0.0.1:8621"})
    operation = schema[path][method]
    counts = Counter()

    def holds(case, known):
        if known:
            there(case, ids)
        if mode is GenerationMode.POSITIVE:
            own_id(case)
        answer = case.call(base_url=HOST, timeout=WAIT_S)
        counts[answer.status_code] += 1
        case.validate_response(answer, checks=CHECKS)
        if answer.status_code >= 400:
            assert answer.headers["content-type"][0] == PROBLEM
            assert len(answer.json()["detail"]) > 10
            assert mode is GenerationMode.NEGATIVE or answer.status_code != 422 or read_as_said(answer), (
                answer.text
            )

    drawn = given(case=operation.as_strategy(generation_mode=mode), known=st.booleans())(holds)
    drawn = settings(
        max_examples=examples,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
        derandomize=seed is None,
        database=None,
    )(drawn)
    (drawn if seed is None else seeded(seed)(drawn))()
    return counts
