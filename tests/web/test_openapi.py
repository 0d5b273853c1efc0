"""The API against its own description: requests made from it by schemathesis (`make soak`: 1,000 of each kind)."""

from __future__ import annotations

import pytest
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode
from tests.api_examples import answers_held, api_in, operations

EXAMPLES = 12
OPERATIONS = operations()


@pytest.fixture(scope="module")
def api(tmp_path_factory):
    """The application with the demo pond and a run in it."""
    with api_in(tmp_path_factory.mktemp("api")) as found:
        yield found


@pytest.mark.parametrize(
    "mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE], ids=["as said", "spoilt"]
)
@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda found: f"{found.method.upper()} {found.path}")
def test_answers_are_what_the_description_says(api, operation, mode):
    """No 5xx; status, type, head and body of every answer are declared; a refusal says what is wrong."""
    try:
        answers_held(api, operation.path, operation.method, mode, EXAMPLES)
    except Unsatisfiable:
        if mode is GenerationMode.POSITIVE:
            raise
        pytest.skip("nothing of it can be spoilt: it takes nothing, or anything")
