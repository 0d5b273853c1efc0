"""Name and port are fixed at pairing; a change is said, and which phones it strands."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from plumeline.cli.commands import UsageError
from plumeline.errors import InputError
from plumeline.store.captures import Told
from plumeline.web.lan.addresses import checked_host_name, private_addresses
from plumeline.web.lan.reach import How, changes, checked_options, phones, planned

PRINT = "AA BB"
PHONE = "018f0000-0000-7000-8000-000000000001"


def paired(asked, store, **options):
    found = replace(planned(asked(lan=True, **options), store), authority_print=PRINT)
    store.pairings.keep(found.pairing)
    return found


def hold(store, unsent_count, phone=PHONE, name="phone one"):
    """Let a phone say what it has not handed over."""
    oldest = datetime(2026, 11, 20, 8, tzinfo=UTC) if unsent_count else None
    store.captures.heard(Told(phone, name, unsent_count=unsent_count, oldest_unsent_at=oldest))


def test_the_first_start_takes_the_machines_name_and_later_ones_what_was_fixed(asked, store, machine):
    """The machine may be called otherwise later; the address stays."""
    assert paired(asked, store).address == "https://oak-office.local:8621/"
    machine.name = "another"
    assert planned(asked(lan=True), store).address == "https://oak-office.local:8621/"


def test_a_name_and_a_port_of_ones_own_are_kept(asked, store, machine):
    """Both come back without being asked for."""
    paired(asked, store, name="Pond-Office.home.arpa", port=9000)
    found = planned(asked(lan=True), store)
    assert found.address == "https://pond-office.home.arpa:9000/"
    assert found.certificate_port_number == 9001


def test_it_answers_to_its_name_and_to_private_numbers_alone(asked, store, machine):
    """Behind a proxy to its name alone, on this machine to this machine's."""
    lan = planned(asked(lan=True), store)
    proxied = planned(asked(behind_proxy="127.0.0.1", name="ponds.test"), store)
    here = planned(asked(), store)
    for name, answers in {
        "oak-office.local": (True, False, False), "192.168.7.20": (True, False, False),
        "192.168.7.99": (True, False, False), "ponds.test": (False, True, False),
        "localhost": (True, False, True), "127.0.0.1": (True, False, True), "8.8.8.8": (False, False, False),
        "evil.test": (False, False, False), "": (False, False, False),
    }.items():  # fmt: skip
        assert tuple(one.answers_to(name) for one in (lan, proxied, here)) == answers, name


@pytest.mark.parametrize("change", [{"name": "other.local"}, {"port": 9000}, {"plain_http": True}])
def test_another_address_is_refused_with_the_phones_that_hold_readings(change, asked, store, machine):
    """With --move it is done, and said with the way back."""
    before = paired(asked, store)
    hold(store, 3)
    with pytest.raises(
        UsageError, match=r"phone one holds 3 not handed over, the oldest of 2026-11-20"
    ) as found:
        planned(asked(lan=True, **change), store)
    assert before.pairing.origin in str(found.value)
    new = planned(asked(lan=True, move=True, **change), store)
    said = " ".join(changes(store.pairings.latest(), new.pairing, store))
    assert before.pairing.origin in said
    assert new.pairing.origin in said
    assert "phone one holds 3" in said


def test_over_plain_http_nothing_is_kept_so_nothing_is_stranded(asked, store, machine):
    """The way from http to https is free."""
    store.pairings.keep(planned(asked(lan=True, plain_http=True), store).pairing)
    assert planned(asked(lan=True), store).how is How.SECURE


def test_from_a_proxy_back_to_the_local_network_is_a_move(asked, store, machine):
    """The proxy's port is not taken for ours."""
    store.pairings.keep(planned(asked(behind_proxy="127.0.0.1", name="ponds.test"), store).pairing)
    assert planned(asked(behind_proxy="127.0.0.1"), store).address == "https://ponds.test/"
    with pytest.raises(
        UsageError, match=r"as https://ponds\.test, and now it would be https://ponds\.test:8621"
    ):
        planned(asked(lan=True), store)
    assert planned(asked(lan=True, move=True, name="oak.local"), store).address == "https://oak.local:8621/"


def test_what_changed_round_an_address_is_said(asked, store, machine):
    """Another number, another machine's name, another authority; nothing where nothing changed."""
    kept = paired(asked, store).pairing
    hold(store, 0)
    assert changes(kept, kept, store) == []
    machine.addresses = ("192.168.7.99",)
    found = planned(asked(lan=True), store)
    said = changes(kept, replace(found, authority_print=PRINT).pairing, store)
    assert "was 192.168.7.20 and is 192.168.7.99" in said[0]
    assert "One phone held none" in said[-1]
    machine.addresses, machine.name = ("192.168.7.20",), "new-name"
    said = changes(kept, replace(found, authority_print="CC").pairing, store)
    assert any("authority is another" in line for line in said)
    assert any("called itself oak-office and is new-name now" in line for line in said)


def test_phones_are_told_apart_by_what_they_said(store):
    """Who holds how much first, then how many held none, then who never said."""
    assert phones(store) == ["No phone has handed over yet."]
    hold(store, 0)
    hold(store, None, PHONE[:-1] + "2", "phone two")
    assert phones(store)[0] == "No phone has said that it holds readings."
    hold(store, 7, PHONE[:-1] + "3", "phone three")
    assert [line.split(" ")[:3] for line in phones(store)] == [
        ["phone", "three", "holds"], ["One", "phone", "held"], ["One", "phone", "never"],
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"host": "192.168.7.20"}, "in over http"),
        ({"host": "0.0.0.0"}, "in over http"),
        ({"plain_http": True}, "belongs to --lan"),
        ({"name": "x.local"}, "belong to --lan"),
        ({"move": True}, "belong to --lan"),
        ({"certificate_port": 80}, "belongs to --lan"),
        ({"lan": True, "port": 0}, "at every start"),
        ({"lan": True, "behind_proxy": "127.0.0.1"}, "exclude each other"),
        ({"behind_proxy": "proxy.test"}, "is no address"),
    ],
)
def test_options_that_contradict_are_refused(options, words, asked):
    """Http beyond this machine above all."""
    with pytest.raises(UsageError, match=words):
        checked_options(asked(**options))


def test_ports_that_collide_and_a_proxy_without_a_name_are_refused(asked, store, machine):
    """In words, before anything listens."""
    with pytest.raises(UsageError, match="port of the pages"):
        planned(asked(lan=True, port=9000, certificate_port=9000), store)
    with pytest.raises(UsageError, match="name must be known"):
        planned(asked(behind_proxy="127.0.0.1"), store)
    assert planned(asked(lan=True, port=65535), store).certificate_port_number == 65534


@pytest.mark.parametrize(
    "name",
    [
        "10.0.0.5",
        "::1",
        "",
        "a b",
        "-a.local",
        "x" * 46,
        "a..b",
        "localhost",
        "pond_office.local",
        "<b>.local",
    ],
)
def test_what_is_no_host_name_is_refused(name):
    """Numbers too, for they change."""
    with pytest.raises(InputError):
        checked_host_name(name)


def test_addresses_are_those_that_are_listened_on():
    """A listener on this machine alone has none, one on a card has that one's."""
    assert private_addresses("127.0.0.1") == ()
    assert private_addresses("192.168.7.20") == ("192.168.7.20",)
    assert private_addresses("8.8.8.8") == ()
    assert not any(":" in one for one in private_addresses("0.0.0.0"))
