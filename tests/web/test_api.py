"""The JSON API: revisions, conflicts, faults, and no error of ours whatever is sent."""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from plumeline.job.document import Job


def test_a_job_document_is_kept_changed_and_refused_when_stale(browser, small_job):
    """201, the next revision, and 409 for the one who was late; both of the first two stay."""
    text = small_job.model_dump_json()
    made = browser.client.post(
        "/api/v1/ponds?author=a", content=text, headers={"content-type": "application/json"}
    )
    assert made.status_code == 201, made.text
    pond = made.json()["id"]
    assert Job.model_validate(made.json()["job"]) == small_job
    address = f"/api/v1/ponds/{pond}"
    for name, status in (("second", 200), ("late", 409)):
        job = {**made.json()["job"], "name": name}
        assert browser.client.put(f"{address}?made_on_number=1&author={name}", json=job).status_code == status
    assert browser.get(address).json()["job"]["name"] == "second"
    assert browser.get(f"{address}?revision=1").json()["job"]["name"] == small_job.name
    assert [row["revision_number"] for row in browser.get(f"{address}/revisions").json()] == [2, 1]


def test_what_is_wrong_with_a_job_is_said_field_by_field(browser, small_job):
    """A greatest depth of -1 m, NaN and an unknown field, none of which JSON could carry back."""
    job = json.loads(small_job.model_dump_json())
    job["pond"]["max_depth_m"] = -1.0
    job["pond"]["deepness"] = 3
    job["pond"]["area_m2"] = float("nan")
    answer = browser.client.post(
        "/api/v1/ponds", content=json.dumps(job), headers={"content-type": "application/json"}
    )
    assert answer.status_code == 422
    found = {fault["where"] for fault in answer.json()["faults"]}
    assert {"body.pond.max_depth_m", "body.pond.deepness", "body.pond.area_m2"} <= found


def test_the_description_names_every_address(shared):
    """OpenAPI 3, with a summary for each."""
    found = shared.get("/api/v1/openapi.json").json()
    assert found["openapi"].startswith("3.")
    assert all(what["summary"] for methods in found["paths"].values() for what in methods.values())
    assert all(path.startswith("/api/v1/") for path in found["paths"])


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=10), inner, max_size=3),
    max_leaves=10,
)
ADDRESSES = st.sampled_from(
    ["/ponds", "/ponds/{}", "/ponds/{}/runs", "/ponds/{}/revisions", "/ponds/{}/stages/{}", "/runs/{}",
     "/runs/{}/files/us/{}",
     "/ponds/{}/folder.zip", "/ponds/import"]
)  # fmt: skip
METHODS = st.sampled_from(["GET", "POST", "PUT", "DELETE", "PATCH"])


@settings(max_examples=200, deadline=None, suppress_health_check=list(HealthCheck))
@given(method=METHODS, address=ADDRESSES, part=st.text(max_size=30), body=JSON, number=st.text(max_size=12))
def test_nothing_that_is_sent_is_an_error_of_ours(method, address, part, body, number, shared):
    """Any method, id, revision and JSON: an answer below 500."""
    from urllib.parse import quote

    path = "/api/v1" + address.replace("{}", quote(part, safe="") or "x")
    answer = shared.client.request(
        method, path, params={"revision": number, "made_on_number": number}, content=json.dumps(body),
        headers={"content-type": "application/json"},
    )  # fmt: skip
    assert answer.status_code < 500, (method, path, answer.text)
    if answer.status_code >= 400:
        assert answer.json()["detail"]


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    fields=st.dictionaries(
        st.sampled_from(["name", "date", "area", "position", "surface", "species", "power", "time_zone"]),
        st.text(max_size=40),
    )
)
def test_no_answer_to_the_ten_questions_is_an_error_of_ours(fields, browser):
    """Any text in any field is understood or refused."""
    answer = browser.post("/ponds/new", {**fields, "action": "save"})
    assert answer.status_code in (303, 422), answer.text
    if answer.status_code == 422:
        assert "Not kept yet" in answer.text


def test_a_pond_that_is_not_there_is_told_as_a_problem(shared):
    """RFC 9457: type, title, status, detail."""
    answer = shared.get("/api/v1/ponds/nowhere")
    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"
    assert {"type", "title", "status", "detail"} <= answer.json().keys()


@pytest.mark.parametrize("stage", ["startup", "season", "%2e%2e"])
def test_a_stage_that_is_none_is_refused(stage, shared):
    """Nothing is run for an unknown word."""
    assert shared.get(f"/api/v1/ponds/{shared.pond}/stages/{stage}").status_code in (404, 422)
