"""A certificate authority of one's own that can vouch for one host name and for private addresses alone.

A phone that trusts it trusts it for nothing else: the name constraints are critical, so a verifier that does not know
them must refuse the certificate. Some verifiers leave out what stands in the certificate that is trusted itself (RFC
5280, 6.2, lets them): so that one, the root, signs once, for a working authority below it with the same constraints,
and its key is never kept. The working authority's key never leaves its file, which this user alone may read.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address, ip_network
from typing import Any

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from plumeline.web.lan.addresses import PRIVATE_RANGES

AUTHORITY_YEARS = 10
LEAF_DAYS = 397
"""Phones refuse a server's certificate that is valid for longer."""
RENEW_DAYS = 30
AHEAD = timedelta(days=1)
"""A phone's clock may be behind."""


class BadKeysError(ValueError):
    """A file of keys that can't be read, or whose key belongs to another certificate."""


@dataclass(frozen=True)
class Keys:
    """A certificate, its private key, and the certificate of who signed it.

    Attributes:
        certificate: of a server or of the working authority.
        key: its key.
        signer: the working authority of a server, the root of a working authority.
    """

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey
    signer: x509.Certificate

    def pem(self) -> bytes:
        """Return all three as one text, so that one file holds what belongs together."""
        key = self.key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
        return key + b"".join(one.public_bytes(Encoding.PEM) for one in (self.certificate, self.signer))

    def __repr__(self) -> str:
        return f"Keys({fingerprint(self.certificate)})"  # a log that shows it shows no key


def read_keys(pem: bytes) -> Keys:
    """Return what ``Keys.pem`` wrote.

    Raises:
        BadKeysError: it is something else, or its parts do not belong together.
    """
    try:
        key = load_pem_private_key(pem, None)
        certificate, signer = x509.load_pem_x509_certificates(pem)
    except (ValueError, TypeError) as error:
        raise BadKeysError("it can't be read") from error
    if not isinstance(key, ec.EllipticCurvePrivateKey) or certificate.public_key() != key.public_key():
        raise BadKeysError("its key belongs to another certificate")
    if not _signed_by(certificate, signer):
        raise BadKeysError("its certificates do not belong together")
    return Keys(certificate, key, signer)


def _signed_by(certificate: x509.Certificate, signer: x509.Certificate) -> bool:
    try:
        certificate.verify_directly_issued_by(signer)
    except (ValueError, TypeError, InvalidSignature):
        return False
    return True


def fingerprint(certificate: x509.Certificate) -> str:
    """Return the SHA-256 of a certificate as phones show it: pairs of hex digits."""
    return certificate.fingerprint(hashes.SHA256()).hex(" ").upper()


def make_authority(host_name: str, now: datetime) -> Keys:
    """Return a new working authority for one host name and the private addresses; its signer is what phones trust.

    Args:
        host_name: the only name (and what stands below it) that it can vouch for.
        now: its first day; it holds for ten years.
    """
    # the day and the name tell two authorities on one phone apart
    name, working = _name(f"Plumeline {host_name} {now:%Y-%m-%d}"), _name(f"Plumeline {host_name} server")
    root_key, key = ec.generate_private_key(ec.SECP256R1()), ec.generate_private_key(ec.SECP256R1())
    until = now + timedelta(days=365 * AUTHORITY_YEARS)
    root = _builder(name, name, root_key, now - AHEAD, until)
    root = _constrained(root, host_name, 1)
    below = _constrained(_builder(working, name, key, now - AHEAD, until), host_name, 0)
    below = below.add_extension(_signer_id(root_key), critical=False)
    return Keys(below.sign(root_key, hashes.SHA256()), key, root.sign(root_key, hashes.SHA256()))


def _constrained(
    builder: x509.CertificateBuilder, host_name: str, authorities_below_count: int
) -> x509.CertificateBuilder:
    ranges: list[x509.GeneralName] = [x509.IPAddress(ip_network(text)) for text in PRIVATE_RANGES]
    constraints = x509.NameConstraints([x509.DNSName(host_name), *ranges], None)
    return (
        builder.add_extension(
            x509.BasicConstraints(ca=True, path_length=authorities_below_count), critical=True
        )
        .add_extension(constraints, critical=True)
        .add_extension(_usage(key_cert_sign=True), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    )


def _signer_id(key: ec.EllipticCurvePrivateKey) -> x509.AuthorityKeyIdentifier:
    return x509.AuthorityKeyIdentifier.from_issuer_public_key(key.public_key())


def make_leaf(authority: Keys, host_name: str, addresses: Sequence[str], now: datetime) -> Keys:
    """Return a server's certificate with a new key.

    Args:
        authority: who vouches.
        host_name: first of its names.
        addresses: private addresses of this machine.
        now: its first day; it holds for 397 days at most, and no longer than its authority.
    """
    key = ec.generate_private_key(ec.SECP256R1())
    names = [x509.DNSName(host_name), *(x509.IPAddress(ip_address(text)) for text in addresses)]
    until = min(
        now - AHEAD + timedelta(days=LEAF_DAYS, seconds=-1), authority.certificate.not_valid_after_utc
    )
    issuer = authority.certificate.subject
    made = (
        _builder(_name(host_name), issuer, key, now - AHEAD, until)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(_usage(digital_signature=True), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(_signer_id(authority.key), critical=False)
    )
    return Keys(made.sign(authority.key, hashes.SHA256()), key, authority.certificate)


def reason_to_renew(
    leaf: x509.Certificate, authority: Keys, host_name: str, addresses: Sequence[str], now: datetime
) -> str:
    """Return why a server's certificate must be made anew; empty where it need not."""
    if not _signed_by(leaf, authority.certificate):
        return "another authority made the one before"
    if leaf.not_valid_after_utc - now < timedelta(days=RENEW_DAYS):
        return f"it ends on {leaf.not_valid_after_utc:%Y-%m-%d}"
    if leaf.not_valid_before_utc > now:
        return "it holds from a day to come only: the clock was wrong"
    if names_of(leaf) != {host_name, *addresses}:
        return "the addresses of this machine are others"
    return ""


def names_of(leaf: x509.Certificate) -> set[str]:
    """Return every name and address that a server's certificate is for."""
    found = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return {*found.get_values_for_type(x509.DNSName), *map(str, found.get_values_for_type(x509.IPAddress))}


def ends_soon(authority: Keys, now: datetime) -> bool:
    """Return whether an authority is too near its end to vouch for anything."""
    return authority.certificate.not_valid_after_utc - now < timedelta(days=RENEW_DAYS)


def _name(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, since: datetime, until: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(since)
        .not_valid_after(until)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _usage(**wanted: bool) -> x509.KeyUsage:
    uses: dict[str, Any] = dict.fromkeys(
        (
            "digital_signature", "content_commitment", "key_encipherment", "data_encipherment", "key_agreement",
            "key_cert_sign", "crl_sign", "encipher_only", "decipher_only",
        ),
        False,
    )  # fmt: skip
    return x509.KeyUsage(**(uses | wanted))
