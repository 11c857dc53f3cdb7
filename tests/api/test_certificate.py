"""The local certificate: what it is good for, where its keys are, and when it is made anew."""

from __future__ import annotations

import socket
import ssl
import stat
import threading
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address

import pytest
from cryptography import x509
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from api.certificate import RENEW_DAYS, SERVER_DAYS, _make_server, certificate_for, local_hosts

HOSTS = ("192.168.7.5", "fd00::5", "van.local")


def loaded(path):
    return x509.load_pem_x509_certificates(path.read_bytes())


def verify(certificate, host: str, server=None, at: datetime | None = None):
    """As a browser would: signed by the authority, named so, within its time and its authority's constraints."""
    try:
        name = x509.IPAddress(ip_address(host))
    except ValueError:
        name = x509.DNSName(host)
    policy = PolicyBuilder().store(Store(loaded(certificate.authority))).time(at or datetime.now(UTC))
    return policy.build_server_verifier(name).verify(server or loaded(certificate.certificate)[0], [])


@pytest.mark.parametrize("host", [*HOSTS, "localhost", "127.0.0.1", "::1"])
def test_it_is_good_for_every_name_and_address_of_the_machine_and_for_loopback(tmp_path, host):
    verify(certificate_for(HOSTS, tmp_path), host)


@pytest.mark.parametrize("host", ["192.168.7.6", "evil.example", "other.local"])
def test_it_is_good_for_no_other(tmp_path, host):
    with pytest.raises(VerificationError):
        verify(certificate_for(HOSTS, tmp_path), host)


@pytest.mark.parametrize("host", ["bank.example", "203.0.113.9", "2001:db8::9"])
def test_a_stolen_authority_cannot_sign_for_the_internet(tmp_path, host):
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    made = certificate_for(HOSTS, tmp_path)
    key = load_pem_private_key((tmp_path / "authority.key").read_bytes(), None)
    forged, _ = _make_server((host,), loaded(made.authority)[0], key, datetime.now(UTC))
    with pytest.raises(VerificationError):
        verify(made, host, forged)


def test_the_keys_are_readable_by_their_owner_alone(tmp_path):
    certificate_for(HOSTS, tmp_path / "certificate")
    for key in ("authority.key", "server.key"):
        assert stat.S_IMODE((tmp_path / "certificate" / key).stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "certificate").stat().st_mode) == 0o700


def test_it_stays_as_it_is_while_it_is_good(tmp_path):
    first = certificate_for(HOSTS, tmp_path)
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}
    assert certificate_for(HOSTS, tmp_path) == first
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before


def test_it_is_renewed_before_it_ends_and_phones_need_nothing_new(tmp_path):
    made = certificate_for(HOSTS, tmp_path)
    old, authority = made.certificate.read_bytes(), made.authority.read_bytes()
    soon = datetime.now(UTC) + timedelta(days=SERVER_DAYS - RENEW_DAYS + 1)
    again = certificate_for(HOSTS, tmp_path, soon)
    assert again.certificate.read_bytes() != old
    assert again.authority.read_bytes() == authority
    verify(again, "van.local", at=soon + timedelta(days=300))


def test_another_address_gives_a_new_certificate_of_the_same_authority(tmp_path):
    first = certificate_for(HOSTS, tmp_path)
    second = certificate_for(("192.168.7.77",), tmp_path)
    verify(second, "192.168.7.77")
    assert second.fingerprint == first.fingerprint


@pytest.mark.parametrize("name", ["server.pem", "server.key", "authority.key", "authority.pem"])
@pytest.mark.parametrize("damage", [b"", b"not a certificate"])
def test_a_damaged_or_missing_file_is_made_anew(tmp_path, name, damage):
    certificate_for(HOSTS, tmp_path)
    if damage:
        (tmp_path / name).write_bytes(damage)
    else:
        (tmp_path / name).unlink()
    verify(certificate_for(HOSTS, tmp_path), "van.local")


def test_a_client_that_trusts_the_authority_speaks_with_a_server_that_has_it(tmp_path):
    made = certificate_for(HOSTS, tmp_path)
    serving = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    serving.load_cert_chain(made.certificate, made.key)
    trusting = ssl.create_default_context(cafile=str(made.authority))
    here, there = socket.socketpair()
    answered = threading.Thread(
        target=lambda: serving.wrap_socket(there, server_side=True).sendall(b"heard"), daemon=True
    )
    answered.start()
    with trusting.wrap_socket(here, server_hostname="van.local") as talking:
        assert talking.recv(5) == b"heard"
        assert talking.version() in ("TLSv1.2", "TLSv1.3")
    answered.join(5)


def test_the_addresses_of_this_machine_that_are_named_are_on_local_networks():
    for host in local_hosts():
        assert host.endswith(".local") or ip_address(host).is_private
