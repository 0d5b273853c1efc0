"""Who may do what: one row for each route, by its module and function; what has no row, nobody may."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Literal

Who = Literal["nobody", "link", "crew", "office"]
"""Somebody who did not sign in, a customer by a link, the crew, the office."""

PUBLIC: frozenset[Who] = frozenset({"nobody", "link", "crew", "office"})
STAFF: frozenset[Who] = frozenset({"crew", "office"})
"""The crew reads every page of a job, hands readings over and saves what it finds."""
OFFICE: frozenset[Who] = frozenset({"office"})
"""People, customer links, taking a pond away."""
CUSTOMER: frozenset[Who] = frozenset({"link"})

RIGHTS: dict[str, frozenset[Who]] = {
    # all ponds and one pond
    "pages.all_ponds": STAFF,
    "pages.set_units": PUBLIC,
    "pages.about_api": STAFF,
    "pages.one_pond": STAFF,
    "pages.history": STAFF,
    "pages.folder_zip": STAFF,
    "pages.stage": STAFF,
    "workings_pages.all_workings": STAFF,
    "workings_pages.one_working": STAFF,
    "run_workings_pages.all_run_workings": STAFF,
    "run_workings_pages.one_run_working": STAFF,
    "editing.new_form": STAFF,
    "editing.new_pond": STAFF,
    "editing.import_zip": STAFF,
    "editing.files": STAFF,
    "editing.edit_form": STAFF,
    "editing.edit": STAFF,
    "known_pages.known_page": STAFF,
    "known_pages.save_known": STAFF,
    "costs_pages.costs_page": STAFF,
    "front_pages.front_page": STAFF,
    "front_pages.ask": STAFF,
    "front_pages.take": STAFF,
    "front_pages.undo": STAFF,
    "planning.plan_page": STAFF,
    "planning.sketch": STAFF,
    "planning.save": STAFF,
    "aerial_pages.aerial_page": STAFF,
    "aerial_pages.aerial_picture": STAFF,
    "aerial_pages.bring_aerial": STAFF,
    "aerial_pages.lay_aerial": STAFF,
    "shore_pages.shore_page": STAFF,
    "shore_pages.shore_sketch": STAFF,
    "shore_pages.save_shore": STAFF,
    "shore_pages.shore_file": STAFF,
    "wall_pages.save_walls": STAFF,
    "wall_pages.take_out": STAFF,
    "wall_pages.undo_walls": STAFF,
    "survey_pages.keep_row": STAFF,
    "bring_pages.bring_page": STAFF,
    "bring_pages.send_file": STAFF,
    "bring_pages.take_file": STAFF,
    "bin_pages.all_binned": OFFICE,
    "bin_pages.put": OFFICE,
    "bin_pages.take_back": OFFICE,
    "bin_pages.erase": OFFICE,
    # the start-up
    "plans.startup": STAFF,
    "plans.ask": STAFF,
    "plans.one_run": STAFF,
    "plans.stop": STAFF,
    "plans.run_file": STAFF,
    "plans.events": STAFF,
    "visit_gauges.choose_port": STAFF,
    "visits.visits": STAFF,
    "visits.add_gauge": STAFF,
    "paper_pages.papers": STAFF,
    "paper_pages.paper": STAFF,
    "paper_pages.add_quote": STAFF,
    "paper_pages.one_quote": STAFF,
    # from the field
    "capture_phone.capture": STAFF,
    "capture_phone.manifest": PUBLIC,
    "capture_phone.worker": STAFF,
    "capture_pages.all_items": STAFF,
    "capture_pages.import_file": STAFF,
    "capture_pages.raw_item": STAFF,
    "capture_pages.photo": STAFF,
    "capture_pages.of_pond": STAFF,
    "capture_pages.take": STAFF,
    "capture_pages.aside": STAFF,
    "capture_pages.undo": STAFF,
    "capture_pages.assign": STAFF,
    "capture_correct.correct_page": STAFF,
    "capture_correct.correct": STAFF,
    "capture_api.put_item": STAFF,
    "capture_api.put_part": STAFF,
    "capture_api.photo": STAFF,
    "capture_api.receipts": STAFF,
    "capture_api.ponds": STAFF,
    "capture_api.import_file": STAFF,
    # the JSON API
    "api.description": STAFF,
    "api.ponds": STAFF,
    "api.add_pond": STAFF,
    "api.import_folder": STAFF,
    "api.pond": STAFF,
    "api.save_pond": STAFF,
    "api.revisions": STAFF,
    "api.folder": STAFF,
    "api.stage": STAFF,
    "api.workings": STAFF,
    "api.ask": STAFF,
    "api.runs": STAFF,
    "api.run": STAFF,
    "api.stop": STAFF,
    "api.run_file": STAFF,
    # who signs in
    "signing.sign_in_form": PUBLIC,
    "signing.sign_in": PUBLIC,
    "signing.welcome_form": PUBLIC,
    "signing.welcome": PUBLIC,
    "signing.sign_out_form": PUBLIC,
    "signing.sign_out": PUBLIC,
    "signing.password_form": STAFF,
    "signing.password": STAFF,
    "people_pages.people": OFFICE,
    "people_pages.add": OFFICE,
    "people_pages.new_code": OFFICE,
    "people_pages.disable": OFFICE,
    "pairing_page.pair": STAFF,
    # the customer
    "links_pages.links": OFFICE,
    "links_pages.make": OFFICE,
    "links_pages.revoke": OFFICE,
    "links_pages.all_accepted": OFFICE,
    "links_pages.one_accepted": OFFICE,
    "api.accepted": OFFICE,
    "customer.link_form": PUBLIC,
    "customer.enter": PUBLIC,
    "customer.papers": CUSTOMER,
    "customer.paper": CUSTOMER,
    "customer.accepted_paper": CUSTOMER,
    "customer.all_workings": CUSTOMER,
    "customer.one_working": CUSTOMER,
    "customer.accept": CUSTOMER,
}


def key_of(endpoint: Any) -> str:
    """Return the key of a route's function: its module and name."""
    return f"{endpoint.__module__.rpartition('.')[2]}.{endpoint.__name__}"


def without_rights(endpoints: Iterable[Any]) -> list[str]:
    """Return the routes that have no row."""
    return sorted({key_of(endpoint) for endpoint in endpoints} - RIGHTS.keys())
