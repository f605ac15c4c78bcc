"""Certificates of a house without a public name: an authority of its own, and a certificate for every name it has.

The authority may vouch for home names and home addresses alone (X.509 name constraints, RFC 5280 section 4.2.1.10), so
that a stolen key cannot stand in for a bank. Keys are for the owner's eyes only and never leave the folder.
"""

from __future__ import annotations

import ipaddress
import os
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

NAMES = ("local", "lan", "home.arpa", "localhost")
RANGES = tuple(
    ipaddress.ip_network(text)
    for text in (
        "10.0.0.0/8",
        "172.16.0.0/12",
        "192.168.0.0/16",
        "127.0.0.0/8",
        "169.254.0.0/16",
        "::1/128",
        "fc00::/7",
        "fe80::/10",
    )
)
AUTHORITY_LASTS = timedelta(days=3650)
LEAF_LASTS = timedelta(days=397)  # what browsers take at most of public authorities, less a day
RENEW_BEFORE = timedelta(days=30)
SLOW_CLOCK = timedelta(hours=1)  # a phone whose clock is a little behind


@dataclass(frozen=True)
class Pair:
    """A certificate and its key."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey


@dataclass(frozen=True)
class Kept:
    """What the server needs: the files of the leaf, and the authority to hand out."""

    chain: Path
    key: Path
    authority: bytes
    fingerprint: str


def may_carry(name: str) -> bool:
    """Whether the authority may vouch for this name or address.

    >>> may_carry("rack.local"), may_carry("192.168.1.20"), may_carry("rack"), may_carry("8.8.8.8")
    (True, True, False, False)
    """
    try:
        address = ipaddress.ip_address(name)
    except ValueError:
        return any(name == allowed or name.endswith(f".{allowed}") for allowed in NAMES)
    return any(address in allowed for allowed in RANGES)


def ensure(folder: Path, names: Iterable[str], now: datetime) -> Kept:
    """The certificates for these names, made or renewed where they must be. Names that the authority may not carry are
    passed over. `now` knows its time zone. Raises OSError where the folder cannot be used."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    wanted = sorted({name for name in names if may_carry(name)})
    authority = _read(folder, "authority")
    if authority is None or _ends_soon(authority.certificate, now):
        authority = make_authority(now)
        _write(folder, "authority", authority)
    leaf = _read(folder, "server")
    if leaf is None or not _fits(leaf, authority, wanted, now):
        _write(folder, "server", make_leaf(authority, wanted, now))
    pem = authority.certificate.public_bytes(serialization.Encoding.PEM)
    return Kept(folder / "server.pem", folder / "server.key", pem, fingerprint(authority.certificate))


def fingerprint(certificate: x509.Certificate) -> str:
    """SHA-256 as phones show it: pairs of digits with colons."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def make_authority(now: datetime) -> Pair:
    """A new authority, bound to home names and home addresses."""
    key = ec.generate_private_key(ec.SECP256R1())
    said = f"Scopula house {x509.random_serial_number() % 0x10000:04X}"  # two houses' authorities are told apart
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, said)])
    allowed: list[x509.GeneralName] = [x509.DNSName(each) for each in NAMES]
    allowed += [x509.IPAddress(each) for each in RANGES]
    builder = _builder(name, name, key, now, now + AUTHORITY_LASTS)
    builder = builder.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
    builder = builder.add_extension(x509.NameConstraints(allowed, None), critical=True)
    builder = builder.add_extension(_usage(signs_certificates=True), critical=True)
    return Pair(builder.sign(key, hashes.SHA256()), key)


def make_leaf(authority: Pair, names: Iterable[str], now: datetime) -> Pair:
    """A server's certificate for these names and addresses."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Scopula")])
    ends = min(now + LEAF_LASTS, authority.certificate.not_valid_after_utc)
    builder = _builder(name, authority.certificate.subject, key, now, ends)
    builder = builder.add_extension(x509.SubjectAlternativeName(map(_general, names)), critical=False)
    builder = builder.add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
    builder = builder.add_extension(_usage(signs_certificates=False), critical=True)
    builder = builder.add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    issuer = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key())
    return Pair(builder.add_extension(issuer, critical=False).sign(authority.key, hashes.SHA256()), key)


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now: datetime, ends: datetime
) -> x509.CertificateBuilder:
    builder = x509.CertificateBuilder(issuer, subject, key.public_key(), x509.random_serial_number())
    builder = builder.not_valid_before(now - SLOW_CLOCK).not_valid_after(ends)
    return builder.add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        encipher_only=False,
        decipher_only=False,
    )


def _general(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def names_of(certificate: x509.Certificate) -> list[str]:
    """The names and addresses that a certificate carries, sorted as text."""
    carried = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return sorted(str(general.value) for general in carried)


def _ends_soon(certificate: x509.Certificate, now: datetime) -> bool:
    return certificate.not_valid_after_utc - now < RENEW_BEFORE


def _fits(leaf: Pair, authority: Pair, wanted: list[str], now: datetime) -> bool:
    """Whether this leaf is of this authority, for these names, and good for a while."""
    try:
        leaf.certificate.verify_directly_issued_by(authority.certificate)
    except Exception:  # a signature that does not hold and an issuer that is another are told in several ways
        return False
    return names_of(leaf.certificate) == wanted and not _ends_soon(leaf.certificate, now)


def _read(folder: Path, stem: str) -> Pair | None:
    """What is kept; None when it is not there or not whole, so that it is made anew."""
    try:
        certificate = x509.load_pem_x509_certificate((folder / f"{stem}.pem").read_bytes())
        key = serialization.load_pem_private_key((folder / f"{stem}.key").read_bytes(), None)
    except (FileNotFoundError, ValueError, TypeError):
        return None
    if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != certificate.public_key():
        return None
    return Pair(certificate, key)


def _write(folder: Path, stem: str, pair: Pair) -> None:
    private = pair.key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    for name, content in ((f"{stem}.key", private), (f"{stem}.pem", _pem(pair))):
        half = folder / f"{name}.new"
        half.unlink(missing_ok=True)
        with os.fdopen(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            file.write(content)
        half.replace(folder / name)


def _pem(pair: Pair) -> bytes:
    return pair.certificate.public_bytes(serialization.Encoding.PEM)
