"""The house's own authority: what it may vouch for, what its certificates say, and when they are made anew.

Name constraints: RFC 5280 section 4.2.1.10. Whether they hold is asked of OpenSSL, through Python's ssl.
"""

import hashlib
import ipaddress
import ssl
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import serialization
from cryptography.x509.oid import ExtendedKeyUsageOID

from config import certificates

NAMES = ["localhost", "rack.local", "192.168.1.20", "127.0.0.1", "fd00::2"]


@pytest.fixture
def now() -> datetime:
    return datetime.now(UTC)


def leaf_of(folder) -> x509.Certificate:
    return x509.load_pem_x509_certificate((folder / "server.pem").read_bytes())


def extension(certificate, kind):
    return certificate.extensions.get_extension_for_class(kind)


def test_the_authority_is_bound_to_home_names_and_home_addresses(now):
    authority = certificates.make_authority(now).certificate
    bound = extension(authority, x509.NameConstraints)
    assert bound.critical
    assert bound.value.excluded_subtrees is None
    allowed = {str(general.value) for general in bound.value.permitted_subtrees}
    assert allowed == {
        *("local", "lan", "home.arpa", "localhost"),
        *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "127.0.0.0/8", "169.254.0.0/16"),
        *("::1/128", "fc00::/7", "fe80::/10"),
    }
    assert extension(authority, x509.BasicConstraints).value == x509.BasicConstraints(ca=True, path_length=0)


def test_the_servers_certificate_carries_every_name_for_397_days_and_serves_only(tmp_path, now):
    certificates.ensure(tmp_path, NAMES, now)
    leaf = leaf_of(tmp_path)
    assert certificates.names_of(leaf) == sorted(NAMES)
    assert leaf.not_valid_after_utc == (now + timedelta(days=397)).replace(microsecond=0)
    assert list(extension(leaf, x509.ExtendedKeyUsage).value) == [ExtendedKeyUsageOID.SERVER_AUTH]
    assert not extension(leaf, x509.BasicConstraints).value.ca


def test_names_that_no_home_network_has_are_left_out(tmp_path, now):
    certificates.ensure(tmp_path, [*NAMES, "bank.example", "8.8.8.8", "rack", "100.64.0.9", "evil-local"], now)
    assert certificates.names_of(leaf_of(tmp_path)) == sorted(NAMES)


def test_keys_are_for_the_owner_alone(tmp_path, now):
    certificates.ensure(tmp_path / "tls", NAMES, now)
    modes = {path.name: path.stat().st_mode & 0o777 for path in (tmp_path / "tls").glob("*.key")}
    assert modes == {"authority.key": 0o600, "server.key": 0o600}
    assert (tmp_path / "tls").stat().st_mode & 0o777 == 0o700


def serials(folder) -> tuple[int, int]:
    files = [(folder / f"{stem}.pem").read_bytes() for stem in ("authority", "server")]
    authority, leaf = map(x509.load_pem_x509_certificate, files)
    return authority.serial_number, leaf.serial_number


@pytest.mark.parametrize(
    ("names", "later", "same"),
    [
        (NAMES, 0, (True, True)),
        (NAMES[::-1], 366, (True, True)),
        (NAMES, 368, (True, False)),
        ([*NAMES, "192.168.1.21"], 0, (True, False)),
        (NAMES[1:], 0, (True, False)),
        (NAMES, 3640, (False, False)),
    ],
)
def test_made_anew_when_a_name_changed_or_the_end_is_near_and_else_not(tmp_path, now, names, later, same):
    certificates.ensure(tmp_path, NAMES, now)
    before = serials(tmp_path)
    certificates.ensure(tmp_path, names, now + timedelta(days=later))
    assert tuple(old == new for old, new in zip(before, serials(tmp_path), strict=True)) == same


@pytest.mark.parametrize("name", ["server.pem", "server.key", "authority.key"])
def test_what_is_torn_or_of_another_house_is_made_anew(tmp_path, now, name):
    certificates.ensure(tmp_path / "a", NAMES, now)
    certificates.ensure(tmp_path / "b", NAMES, now)
    (tmp_path / "a" / name).write_bytes((tmp_path / "b" / name).read_bytes())
    kept = certificates.ensure(tmp_path / "a", NAMES, now)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(kept.chain, kept.key)
    assert shake_hands(context, kept.authority, "rack.local") is None
    (tmp_path / "a" / name).write_text("torn")
    assert certificates.ensure(tmp_path / "a", NAMES, now).chain.read_bytes().startswith(b"-----BEGIN")


def shake_hands(server: ssl.SSLContext, authority: bytes, name: str) -> ssl.SSLError | None:
    """One TLS handshake in memory, with a client that trusts the authority alone; its refusal, if any."""
    client = ssl.create_default_context(cadata=authority.decode())
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    ends = [
        client.wrap_bio(to_client, to_server, server_hostname=name),
        server.wrap_bio(to_server, to_client, server_side=True),
    ]
    for _ in range(4):
        for end in ends:
            try:
                end.do_handshake()
            except ssl.SSLWantReadError:
                continue
            except ssl.SSLError as refusal:
                return refusal
    return None


def context_for(pair: certificates.Pair, folder) -> ssl.SSLContext:
    """A server with this very certificate."""
    certificates._write(folder, "made", pair)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(folder / "made.pem", folder / "made.key")
    return context


@pytest.mark.parametrize("name", ["rack.local", "shelf.lan", "x.home.arpa", "192.168.1.20", "10.1.2.3", "fd00::2"])
def test_openssl_takes_home_names_of_this_authority(tmp_path, now, name):
    authority = certificates.make_authority(now)
    server = context_for(certificates.make_leaf(authority, [name, "localhost"], now), tmp_path)
    assert shake_hands(server, certificates._pem(authority), name) is None


@pytest.mark.parametrize("name", ["bank.example", "local.example", "8.8.8.8", "100.64.0.9", "2001:4860:4860::8888"])
def test_openssl_refuses_everything_else_even_when_the_key_was_stolen(tmp_path, now, name):
    authority = certificates.make_authority(now)
    server = context_for(certificates.make_leaf(authority, [name, "localhost"], now), tmp_path)
    refusal = shake_hands(server, certificates._pem(authority), name)
    assert "permitted subtree violation" in str(refusal)


def test_a_client_without_the_authority_refuses(tmp_path, now):
    authority, other = certificates.make_authority(now), certificates.make_authority(now)
    server = context_for(certificates.make_leaf(authority, ["rack.local"], now), tmp_path)
    assert "CERTIFICATE_VERIFY_FAILED" in str(shake_hands(server, certificates._pem(other), "rack.local"))


def test_the_fingerprint_is_of_the_whole_certificate_as_phones_show_it(tmp_path, now):
    kept = certificates.ensure(tmp_path, NAMES, now)
    whole = x509.load_pem_x509_certificate(kept.authority).public_bytes(serialization.Encoding.DER)
    digest = hashlib.sha256(whole).hexdigest().upper()
    assert kept.fingerprint == ":".join(digest[at : at + 2] for at in range(0, 64, 2))


@pytest.mark.parametrize("network", ["10.0.0.0/8", "fe80::/10"])
def test_both_ends_of_a_range_may_be_carried(network):
    ends = ipaddress.ip_network(network)
    assert certificates.may_carry(str(ends[0]))
    assert certificates.may_carry(str(ends[-1]))
    assert not certificates.may_carry(str(ends[-1] + 1))
