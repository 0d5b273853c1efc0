"""A gauge of a pond's visits that its line does not have: somebody says which port was meant."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter
from starlette.responses import RedirectResponse, Response

from plumeline.files.gauge_ports import not_a_port, port_named, with_port
from plumeline.files.gauges import FILE
from plumeline.web.pages import Form, Here
from plumeline.web.visit_fit import ports_of

router = APIRouter()


@router.post("/ponds/{pond_id}/visits/port")
def choose_port(site: Here, pond_id: str, form: Form) -> Response:
    """Say which port a gauge of the file is of; its words before stand in the history."""
    number, row = form.number("number"), form.number("row")
    pond = site.store.ponds.revision(pond_id, number)
    was, port = form.text("was"), form.text("port")
    ports = ports_of(site.designs.of(pond))
    if port_named(port, ports) != port:
        raise not_a_port(port, ports)
    files = site.store.ponds.folder(pond_id, number).files
    data = with_port(files.get(FILE, b""), row, was, port)
    site.store.ponds.save_files(
        pond_id, {**files, FILE: data}, expected_number=number, author=form.text("author"),
        reason=f"the gauge '{was[:60]}' is that of {port}",
    )  # fmt: skip
    site.saved.set()
    return RedirectResponse(f"/ponds/{quote(pond_id)}/visits", 303)
