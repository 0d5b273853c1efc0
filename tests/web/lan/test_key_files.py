"""The files of keys: closed to others, renewed in time, never silently made anew."""

from __future__ import annotations

import stat
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from cryptography import x509

from plumeline.web.lan.key_files import AUTHORITY, FOLDER, PUBLIC, SERVER, KeyFileError, ready

NAME = "pond-office.test"
START = datetime(2026, 11, 26, 12, tzinfo=UTC)


def at(home, day, name=NAME, addresses=("192.168.7.20",)):
    """Get ready on a day, by the machine's own clock."""
    with time_machine.travel(START + timedelta(days=day), tick=False):
        return ready(home, name, addresses, datetime.now(UTC))


def serial(found):
    return x509.load_pem_x509_certificate(found.server_file.read_bytes()).serial_number


def test_every_file_is_this_users_alone(tmp_path):
    """0600, in folders of 0700; the public file holds no key."""
    found = at(tmp_path, 0)
    place = tmp_path / FOLDER / NAME
    assert stat.S_IMODE(place.stat().st_mode) == 0o700
    assert {one.name: stat.S_IMODE(one.stat().st_mode) for one in place.iterdir()} == {
        AUTHORITY: 0o600, SERVER: 0o600, PUBLIC: 0o600,
    }  # fmt: skip
    assert found.public_file.read_bytes() == found.authority_der
    shown = found.authority_der + found.authority_pem + repr(found).encode()
    assert b"PRIVATE" not in shown
    x509.load_der_x509_certificate(found.authority_der)


def test_the_servers_certificate_is_renewed_in_its_last_month_under_the_same_authority(tmp_path):
    """Phones trust on: for nine years nothing is asked of them."""
    first = at(tmp_path, 0)
    number = serial(first)
    assert serial(at(tmp_path, 365)) == number
    later = at(tmp_path, 367)
    assert serial(later) != number
    assert later.fingerprint == first.fingerprint
    assert any("Phones notice nothing" in line for line in later.said)
    assert at(tmp_path, 9 * 365).fingerprint == first.fingerprint
    ended = at(tmp_path, 10 * 365 - 10)
    assert ended.fingerprint != first.fingerprint
    assert any("every phone must trust the new one" in line for line in ended.said)
    assert list((tmp_path / FOLDER / NAME).glob(f"ended-*-{AUTHORITY}"))


def test_another_address_makes_another_certificate_under_the_same_authority(tmp_path):
    """A lease ends, a number changes; the trust stays."""
    first = at(tmp_path, 0)
    number = serial(first)
    assert serial(at(tmp_path, 1)) == number
    later = at(tmp_path, 1, addresses=("192.168.7.21",))
    assert serial(later) != number
    assert later.fingerprint == first.fingerprint


def test_whoever_goes_back_to_a_name_finds_its_authority(tmp_path):
    """Each name has its own, and keeps it."""
    first = at(tmp_path, 0)
    other = at(tmp_path, 1, name="other.test")
    assert other.fingerprint != first.fingerprint
    assert at(tmp_path, 2).fingerprint == first.fingerprint


@pytest.mark.parametrize(
    "content", [b"", b"nonsense", b"-----BEGIN CERTIFICATE-----\nAAAA\n-----END CERTIFICATE-----\n"]
)
def test_a_spoilt_authority_is_told_and_not_made_anew(content, tmp_path):
    """A new one would cost every phone a walk through its settings; a spoilt server's file costs nothing."""
    first = at(tmp_path, 0)
    place = tmp_path / FOLDER / NAME
    (place / SERVER).write_bytes(content)
    assert at(tmp_path, 0).fingerprint == first.fingerprint
    (place / AUTHORITY).write_bytes(content)
    with pytest.raises(KeyFileError, match="move it away"):
        at(tmp_path, 0)
    assert (place / AUTHORITY).read_bytes() == content


def test_a_key_that_others_could_read_is_closed_and_said(tmp_path):
    """With what to do where somebody may have copied it."""
    at(tmp_path, 0)
    for name in (AUTHORITY, SERVER):
        path = tmp_path / FOLDER / NAME / name
        path.chmod(0o644)
        found = at(tmp_path, 0)
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert any("Others on this machine could read" in line for line in found.said)


def test_a_folder_that_may_not_be_written_is_told(tmp_path):
    """A file stands where the folder should."""
    (tmp_path / FOLDER).write_text("in the way")
    with pytest.raises(KeyFileError, match="can't be kept"):
        at(tmp_path, 0)


def test_a_clock_that_was_ahead_is_said(tmp_path):
    """An authority of a day to come is no reason for another one."""
    first = at(tmp_path, 400)
    found = at(tmp_path, 0)
    assert found.fingerprint == first.fingerprint
    assert any("look at the clock" in line for line in found.said)
