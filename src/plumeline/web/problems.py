"""What the JSON API says when something is wrong: problem+json (RFC 9457), and how its description lists it."""

from __future__ import annotations

from typing import Any

from starlette.responses import JSONResponse

PROBLEM = "application/problem+json"

_TEXT = {"type": "string"}
_FAULT = {
    "type": "object",
    "description": "one thing that is wrong: where, and what would be right",
    "required": ["file", "where", "problem", "remedy"],
    "properties": {"file": _TEXT, "where": _TEXT, "problem": _TEXT, "remedy": _TEXT},
}
_SCHEMA = {
    "type": "object",
    "required": ["type", "title", "status", "detail", "faults"],
    "properties": {
        "type": _TEXT,
        "title": _TEXT,
        "status": {"type": "integer"},
        "detail": {"type": "string", "description": "what is wrong, in words"},
        "faults": {"type": "array", "items": _FAULT},
    },
}

REFUSALS: dict[int | str, dict[str, Any]] = {
    number: {"description": words, "content": {PROBLEM: {"schema": _SCHEMA}}}
    for number, words in (
        (400, "what was sent can not be read"),
        (401, "nobody is signed in"),
        (403, "sent by a page of another site"),
        (404, "not there"),
        (405, "not done here"),
        (409, "another was saved in between"),
        (413, "more than is taken at once"),
        (422, "not possible, with every fault"),
        (503, "the database can't be read or written"),
    )
}
"""Every route's refusals, as its description lists them."""


def problem(status_number: int, heading: str, text: str, faults: Any = (), **more: Any) -> JSONResponse:
    """Return a refusal: its status, a heading, what is wrong in words, every fault, and what else it carries."""
    body = {
        "type": "about:blank",
        "title": heading,
        "status": status_number,
        "detail": text,
        "faults": list(faults),
        **more,
    }
    return JSONResponse(body, status_number, media_type=PROBLEM)
