"""The authority vouches for one name and private addresses; verifiers refuse everything else it might sign."""

from __future__ import annotations

import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509 import verification
from cryptography.x509.oid import ExtendedKeyUsageOID

from plumeline.web.lan.addresses import is_private
from plumeline.web.lan.authority import (
    RENEW_DAYS,
    BadKeysError,
    make_authority,
    make_leaf,
    names_of,
    read_keys,
    reason_to_renew,
)

NAME = "pond-office.test"
NOW = datetime(2026, 11, 26, 12, tzinfo=UTC)
ADDRESSES = ("192.168.7.20", "127.0.0.1")
GOOD = (NAME, "192.168.7.20", "10.1.2.3", "172.31.255.255", "169.254.3.4", "127.0.0.1", "fd12::7", "::1")
BAD = ("another.test", "pond-office.test.evil.test", "8.8.8.8", "172.32.0.1", "192.169.0.1", "2001:db8::1")


@pytest.fixture(scope="module")
def authority():
    return make_authority(NAME, NOW)


def subject(name):
    try:
        return x509.IPAddress(ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def leaf_for(authority, name):
    """A certificate for one name alone, as somebody with the stolen key would sign it."""
    try:
        ip_address(name)
        return _only_address(authority, name)
    except ValueError:
        return make_leaf(authority, name, (), NOW).certificate


def _only_address(authority, address):
    made = make_leaf(authority, NAME, (), NOW)
    builder = x509.CertificateBuilder().subject_name(x509.Name([])).issuer_name(authority.certificate.subject)
    builder = builder.public_key(made.key.public_key()).serial_number(7)
    builder = builder.not_valid_before(NOW).not_valid_after(NOW + timedelta(days=9))
    for one in made.certificate.extensions:
        value, critical = one.value, one.critical
        if isinstance(value, x509.SubjectAlternativeName):
            value, critical = x509.SubjectAlternativeName([x509.IPAddress(ip_address(address))]), True
        builder = builder.add_extension(value, critical)
    return builder.sign(authority.key, hashes.SHA256())


def by_cryptography(root, between, leaf, name):
    """Return whether the x509 verifier of `cryptography` takes it."""
    builder = verification.PolicyBuilder().store(verification.Store([root])).time(NOW)
    try:
        builder.build_server_verifier(subject(name)).verify(leaf, [between])
    except verification.VerificationError:
        return False
    return True


def by_openssl(folder, root, between, leaf, name):
    """Return whether OpenSSL takes it."""
    files = []
    for one in (root, between, leaf):
        files.append(folder / f"{len(files)}.pem")
        files[-1].write_bytes(one.public_bytes(Encoding.PEM))
    which = "-verify_hostname" if isinstance(subject(name), x509.DNSName) else "-verify_ip"
    command = [
        "openssl",
        "verify",
        "-x509_strict",
        "-purpose",
        "sslserver",
        "-attime",
        str(int(NOW.timestamp())),
    ]
    trust = ["-no-CApath", "-CAfile", files[0], "-untrusted", files[1], which, name, files[2]]
    done = subprocess.run([*command, *trust], capture_output=True, text=True)
    assert done.returncode == 0 or "permitted subtree violation" in done.stderr, done.stderr
    return done.returncode == 0


@pytest.mark.parametrize(
    ("name", "taken"), [*((name, True) for name in GOOD), *((name, False) for name in BAD)]
)
def test_a_certificate_for_another_name_is_refused(name, taken, authority, tmp_path):
    """Signed by the authority's own key, for any name but its one and for any public address."""
    chain = (authority.signer, authority.certificate, leaf_for(authority, name))
    assert by_cryptography(*chain, name) is taken
    if shutil.which("openssl"):
        assert by_openssl(tmp_path, *chain, name) is taken


@pytest.mark.parametrize(
    ("name", "taken"), [(NAME, True), ("10.1.2.3", True), *((name, False) for name in BAD)]
)
def test_it_is_refused_even_where_the_roots_own_constraints_are_left_out(name, taken, authority, tmp_path):
    """As some verifiers do: here the root has none, and what signs below it has them still."""
    key = ec.generate_private_key(ec.SECP256R1())
    root = again(authority.signer, authority.signer.subject, key, without=x509.NameConstraints, own=True)
    between = again(authority.certificate, root.subject, key)
    chain = (root, between, leaf_for(authority, name))
    assert by_cryptography(*chain, name) is taken
    if shutil.which("openssl"):
        assert by_openssl(tmp_path, *chain, name) is taken


def again(certificate, issuer, key, *, without=(), own=False):
    """Return a certificate signed by another key, some of its extensions left out."""
    signed = key.public_key() if own else certificate.public_key()
    builder = (
        x509.CertificateBuilder().subject_name(certificate.subject).issuer_name(issuer).public_key(signed)
    )
    builder = builder.serial_number(11).not_valid_before(NOW).not_valid_after(NOW + timedelta(days=99))
    for one in certificate.extensions:
        value = one.value
        if isinstance(value, x509.AuthorityKeyIdentifier):
            value = x509.AuthorityKeyIdentifier.from_issuer_public_key(key.public_key())
        if own and isinstance(value, x509.SubjectKeyIdentifier):
            value = x509.SubjectKeyIdentifier.from_public_key(signed)
        if not isinstance(value, without):
            builder = builder.add_extension(value, one.critical)
    return builder.sign(key, hashes.SHA256())


def test_no_further_authority_may_stand_below_it(authority):
    """Two steps and no more, for web servers only, each with the constraints marked critical."""
    for certificate, below in ((authority.signer, 1), (authority.certificate, 0)):
        held = certificate.extensions
        basic = held.get_extension_for_class(x509.BasicConstraints)
        assert basic.critical
        assert (basic.value.ca, basic.value.path_length) == (True, below)
        assert held.get_extension_for_class(x509.NameConstraints).critical
        usage = held.get_extension_for_class(x509.KeyUsage).value
        assert usage.key_cert_sign
        assert not usage.digital_signature
        assert list(held.get_extension_for_class(x509.ExtendedKeyUsage).value) == [
            ExtendedKeyUsageOID.SERVER_AUTH
        ]


def test_the_roots_key_is_kept_nowhere(authority):
    """What is written holds one key, and it is not the root's."""
    assert authority.pem().count(b"PRIVATE KEY-----") == 2  # its begin and its end
    assert read_keys(authority.pem()).key.public_key() != authority.signer.public_key()


@pytest.mark.parametrize("ahead_days", [0, 365 * 10 - 40])
def test_a_servers_certificate_holds_397_days_at_most(ahead_days, authority):
    """And never longer than its authority."""
    leaf = make_leaf(authority, NAME, ADDRESSES, NOW + timedelta(days=ahead_days)).certificate
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc < timedelta(days=397)
    assert leaf.not_valid_after_utc <= authority.certificate.not_valid_after_utc
    assert names_of(leaf) == {NAME, *ADDRESSES}


def test_it_is_renewed_in_its_last_month_and_when_the_addresses_change(authority):
    """Not before: phones keep their connections."""
    leaf = make_leaf(authority, NAME, ADDRESSES, NOW).certificate
    last = leaf.not_valid_after_utc

    def why(now=NOW, whose=authority, addresses=ADDRESSES):
        return reason_to_renew(leaf, whose, NAME, addresses, now)

    assert why() == ""
    assert why(last - timedelta(days=RENEW_DAYS, hours=1)) == ""
    assert "ends on" in why(last - timedelta(days=RENEW_DAYS, hours=-1))
    assert "addresses" in why(addresses=("192.168.7.21", "127.0.0.1"))
    assert "another authority" in why(whose=make_authority(NAME, NOW))
    assert "clock" in why(NOW - timedelta(days=30))


def test_keys_read_back_and_show_no_key(authority):
    """What is printed of them is the fingerprint."""
    again = read_keys(authority.pem())
    assert again.certificate == authority.certificate
    assert "PRIVATE" not in repr(again) + str(again)
    other = make_authority(NAME, NOW).pem()
    mixed = (
        other[: other.index(b"-----BEGIN CERT")]
        + authority.pem()[authority.pem().index(b"-----BEGIN CERT") :]
    )
    strangers = authority.key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    strangers += b"".join(
        one.public_bytes(Encoding.PEM) for one in (authority.certificate, make_authority(NAME, NOW).signer)
    )
    for bad in (b"", b"nonsense", mixed, strangers):
        with pytest.raises(BadKeysError):
            read_keys(bad)


@pytest.mark.parametrize(
    ("text", "private"), [("192.168.1.1", True), ("8.8.8.8", False), ("fe80::1", True), ("x", False)]
)
def test_private_addresses_are_known(text, private):
    """Those that the authority may vouch for."""
    assert is_private(text) is private
