"""Browsers of strangers, crew, office and customers, and every route there is."""

from __future__ import annotations

import re

from starlette.testclient import TestClient

from plumeline.web.app import ROUTERS
from plumeline.web.rights import key_of

HOST = "http://127.0.0.1:8621"
PASSWORD = "three wet words"
ROUTES = [
    (method, prefix + route.path, key_of(route.endpoint))
    for router, prefix in ROUTERS
    for route in router.routes
    for method in sorted(route.methods - {"HEAD"})
]
FILLED = {
    "pond_id": "hollow-oak", "stage": "survey", "run_id": "none", "units": "us", "name": "plan.pdf",
    "sequence": "1", "sha256": "0" * 64, "item_id": "0190b0a0-0000-7000-8000-000000000000", "number": "0",
    "person_id": "none", "link_id": "none", "key": "volume",
    "quote_number": "1", "acceptance_id": "none",
}  # fmt: skip
ALLOWED = {200, 201, 202, 303, 400, 404, 409, 422}
"""What a route itself may answer to a request that is let through, whatever is in it."""


class Client:
    """A browser or a program that keeps cookies."""

    def __init__(self, app) -> None:
        self.http = TestClient(app, base_url=HOST, raise_server_exceptions=False, follow_redirects=False)

    def token(self, path="/signin"):
        return re.search(r'name="form_token" value="(\w+)"', self.http.get(path, follow_redirects=True).text)[
            1
        ]

    def post(self, path, fields=None, *, page="/signin", **more):
        return self.http.post(path, data={"form_token": self.token(page), **(fields or {})}, **more)

    def sign_in(self, name, password=PASSWORD):
        return self.post("/signin", {"name": name, "password": password})


def ask(client, method, path):
    """Ask a route with nothing of use in the request."""
    filled = path.format(**FILLED)
    if filled == "/signout" and method == "POST":
        filled = "/signout?"
    return client.http.request(method, filled, headers={"X-Plumeline": "1"})
