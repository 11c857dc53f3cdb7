"""The local certificate: phones give their microphone to HTTPS alone.

The home folder keeps a certificate authority of its own and, signed by it, the server's certificate. A phone that
installs the authority trusts this server and, by its name constraints, nothing but addresses of a local network: were
its key stolen, no page of the internet could be imitated with it. Both keys are readable by their owner alone.
"""

from __future__ import annotations

import ipaddress
import os
import re
import socket
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from assistant.log.trouble import told_plainly

Address = ipaddress.IPv4Address | ipaddress.IPv6Address

AUTHORITY_DAYS = 3650
SERVER_DAYS = 397  # browsers refuse longer ones
RENEW_DAYS = 30  # before the end

# What the authority may sign for: loopback, private and link-local networks, and names that only mean something there.
_NETWORKS = (
    "127.0.0.0/8 10.0.0.0/8 172.16.0.0/12 192.168.0.0/16 169.254.0.0/16 100.64.0.0/10 ::1/128 fc00::/7 fe80::/10"
)
_LOCAL = tuple(ipaddress.ip_network(each) for each in _NETWORKS.split())
_NAMES = ("localhost", "local", "lan", "home.arpa", "internal")


@dataclass(frozen=True, slots=True)
class Certificate:
    """The server's certificate on the disk, and the authority a phone may install."""

    certificate: Path  # PEM: the server's, then the authority's
    key: Path  # PEM, mode 600
    authority: Path  # PEM
    hosts: tuple[str, ...]  # names and addresses it is good for
    fingerprint: str  # SHA-256 of the authority, to compare by eye


def local_hosts() -> tuple[str, ...]:
    """This machine's addresses on local networks, the one that leads out first; then its name, if it is a local one."""
    found = dict.fromkeys([*_address_that_leads_out(), *_addresses_of_the_name()])
    addresses = [str(each) for each in found if _is_local(each) and not each.is_loopback and not each.is_link_local]
    label = re.sub(r"[^a-z0-9-]", "", socket.gethostname().split(".")[0].lower()).strip("-")
    return (*addresses, *([f"{label}.local"] if label and label != "localhost" else []))


def certificate_for(hosts: tuple[str, ...], folder: Path, now: datetime | None = None) -> Certificate:
    """The certificate in `folder` (made if need be), made anew where it ends soon or lacks one of `hosts`.

    hosts  names and addresses; loopback is always added
    now    for tests; the clock if None

    Raises StoreError when the folder cannot be written.
    """
    now = now or datetime.now(UTC)
    hosts = tuple(dict.fromkeys([*hosts, "localhost", "127.0.0.1", "::1"]))
    paths = {name: folder / name for name in ("authority.pem", "authority.key", "server.pem", "server.key")}
    with told_plainly(folder):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        authority = _load(paths["authority.pem"], paths["authority.key"])
        if authority is None or _ends_soon(authority[0], now):
            authority = _make_authority(now)
            _write(paths["authority.key"], _key_pem(authority[1]))
            _write(paths["authority.pem"], _pem(authority[0]), 0o644)
        server = _load(paths["server.pem"], paths["server.key"])
        if server is None or _ends_soon(server[0], now) or not _is_good_for(server[0], authority[0], hosts):
            server = _make_server(hosts, *authority, now)
            _write(paths["server.key"], _key_pem(server[1]))
            _write(paths["server.pem"], _pem(server[0]) + _pem(authority[0]), 0o644)
    return Certificate(
        paths["server.pem"],
        paths["server.key"],
        paths["authority.pem"],
        hosts,
        authority[0].fingerprint(hashes.SHA256()).hex(":").upper(),
    )


def _make_authority(now: datetime) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    key = ec.generate_private_key(ec.SECP256R1())
    name = _name(f"superheard on {socket.gethostname()[:40]}")
    permitted = [x509.IPAddress(each) for each in _LOCAL] + [x509.DNSName(each) for each in _NAMES]
    only_signs = dict.fromkeys(
        "digital_signature content_commitment key_encipherment data_encipherment key_agreement encipher_only "
        "decipher_only".split(),
        False,
    )
    made = (
        _builder(name, name, key, now, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(x509.KeyUsage(key_cert_sign=True, crl_sign=True, **only_signs), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )
    return made.sign(key, hashes.SHA256()), key


def _make_server(
    hosts: tuple[str, ...], authority: x509.Certificate, authority_key: ec.EllipticCurvePrivateKey, now: datetime
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    key = ec.generate_private_key(ec.SECP256R1())
    made = (
        _builder(_name("superheard"), authority.subject, key, now, SERVER_DAYS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.SubjectAlternativeName([_as_name(host) for host in hosts]), critical=False)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key()), critical=False)
    )
    return made.sign(authority_key, hashes.SHA256()), key


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    """What both certificates have in common. Good from a day ago, for phones whose clock is behind."""
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=days - 1))
    )


def _is_good_for(server: x509.Certificate, authority: x509.Certificate, hosts: tuple[str, ...]) -> bool:
    try:
        server.verify_directly_issued_by(authority)
    except Exception:  # of another authority, or not signed at all: either way it is made anew
        return False
    named = server.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return {_as_name(host) for host in hosts} <= set(named)


def _load(certificate: Path, key: Path) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey] | None:
    """A certificate and its key; None where either is missing, damaged or not of the other."""
    try:
        loaded = x509.load_pem_x509_certificate(certificate.read_bytes())
        private = serialization.load_pem_private_key(key.read_bytes(), password=None)
    except (FileNotFoundError, ValueError):
        return None
    if not isinstance(private, ec.EllipticCurvePrivateKey) or private.public_key() != loaded.public_key():
        return None
    return loaded, private


def _write(path: Path, content: bytes, mode: int = 0o600) -> None:
    """Write the file whole, never readable by others for a moment."""
    part = path.with_suffix(path.suffix + ".part")
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    os.replace(part, path)


def _address_that_leads_out() -> list[Address]:
    """The address other machines most likely know this one by. Nothing is sent: a datagram socket is only aimed."""
    found = []
    for family, far in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        try:
            with socket.socket(family, socket.SOCK_DGRAM) as aimed:
                aimed.connect((far, 9))
                found.append(ipaddress.ip_address(aimed.getsockname()[0]))
        except OSError:  # no such network
            continue
    return found


def _addresses_of_the_name() -> list[Address]:
    try:
        known = socket.getaddrinfo(socket.gethostname(), None, proto=socket.IPPROTO_TCP)
    except OSError:
        return []
    return [ipaddress.ip_address(each[4][0].split("%")[0]) for each in known]


def _is_local(address: Address) -> bool:
    return any(address.version == network.version and address in network for network in _LOCAL)


def _as_name(host: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(host))
    except ValueError:
        return x509.DNSName(host)


def _ends_soon(certificate: x509.Certificate, now: datetime) -> bool:
    return certificate.not_valid_after_utc - now < timedelta(days=RENEW_DAYS)


def _name(common: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common)])


def _pem(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(serialization.Encoding.PEM)


def _key_pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
