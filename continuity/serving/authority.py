"""A certificate authority of this server's own, and the certificate with which it serves phones near it.

No public authority vouches for an address on a private network, and a phone keeps a web app only from a
server that is vouched for. Whoever trusts this authority trusts whoever holds its key. So it is bound to
private addresses and local names (name constraints, RFC 5280, 4.2.1.10), and only its owner can read the key.
"""

from __future__ import annotations

import datetime as dt
import ipaddress
import socket
from dataclasses import dataclass
from pathlib import Path

from cryptography import x509
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from continuity.bootstrap.addresses import LOOPBACK, PRIVATE_NETWORKS, own_names
from continuity.bootstrap.console import CannotGoOn
from continuity.whole_files import replace, write_once

AUTHORITY, SERVER = "authority.pem", "server.pem"
"""The files: each a private key and its certificate, so that never one is there without the other."""

AUTHORITY_LIFE = dt.timedelta(days=3650)
SERVER_LIFE = dt.timedelta(days=397)
RENEWED_BEFORE_END = dt.timedelta(days=30)
# A phone whose clock is behind would otherwise take a new certificate for one that is not valid yet.
BACKDATED = dt.timedelta(days=1)
LONGEST_COMMON_NAME = 64


@dataclass(frozen=True)
class Identity:
    """A certificate and its private key."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    def to_pem(self) -> bytes:
        key = self.key.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
        return key + self.certificate.public_bytes(serialization.Encoding.PEM)

    @classmethod
    def from_file(cls, path: Path) -> Identity:
        """Raises CannotGoOn when the file does not hold both."""
        try:
            pem = path.read_bytes()
            key = serialization.load_pem_private_key(pem, password=None)
            certificate = x509.load_pem_x509_certificate(pem)
        except (OSError, ValueError, TypeError) as error:
            raise CannotGoOn(f"{path} cannot be read as a key and its certificate: {error}") from None
        if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != certificate.public_key():
            raise CannotGoOn(f"{path} holds a key and a certificate that do not belong together.")
        return cls(certificate, key)


@dataclass(frozen=True)
class Certificates:
    """What is needed to serve: `server` is the file with the server's certificate and its key."""

    authority: x509.Certificate
    server: Path
    moved: bool
    """Whether the server had another address before, so that phones may have kept the app under that one."""

    @property
    def fingerprint(self) -> str:
        """The SHA-256 of the authority's certificate, as phones show it: pairs of digits with colons."""
        return self.authority.fingerprint(hashes.SHA256()).hex(":").upper()

    @property
    def authority_der(self) -> bytes:
        return self.authority.public_bytes(serialization.Encoding.DER)


def ensure(directory: Path, phones: list[str], now: dt.datetime | None = None) -> Certificates:
    """The authority, which is made once, and a certificate for loopback, this machine and `phones`.

    `phones` are addresses and names; `now` is an aware time, by default the present. The server's certificate
    is made anew when it is within 30 days of its end, or for other addresses than these. Raises CannotGoOn.
    """
    now = now or dt.datetime.now(dt.UTC)
    directory.mkdir(mode=0o700, parents=True, exist_ok=True)
    if not (directory / AUTHORITY).exists():
        write_once(directory / AUTHORITY, _new_authority(now).to_pem())
    authority = Identity.from_file(directory / AUTHORITY)
    if authority.certificate.not_valid_after_utc <= now:
        raise CannotGoOn(
            f"The authority in {directory} has ended: move that directory away, start again, and let every "
            "phone trust the new one."
        )
    names = _names(phones, authority.certificate)
    path = directory / SERVER
    old = Identity.from_file(path).certificate if path.exists() else None
    if old is None or not _still_good(old, authority.certificate, names, now):
        replace(path, _new_server(authority, names, now).to_pem())
    moved = old is not None and set(phones).isdisjoint(_texts(_alternative_names(old)))
    return Certificates(authority.certificate, path, moved)


def _new_authority(now: dt.datetime) -> Identity:
    key = ec.generate_private_key(ec.SECP256R1())
    name = f"Continuity tracker on {socket.gethostname()}, made {now:%Y-%m-%d}"
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name[:LONGEST_COMMON_NAME])])
    # A name stands for itself and for all that ends in it.
    names = [x509.DNSName(name) for name in ["local", *own_names()] if not name.endswith(".local")]
    permitted: list[x509.GeneralName] = [*names, *(x509.IPAddress(network) for network in PRIVATE_NETWORKS)]
    certificate = (
        _builder(subject, subject, key, now, now + AUTHORITY_LIFE)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_key_usage(signs_certificates=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .sign(key, hashes.SHA256())
    )
    return Identity(certificate, key)


def _new_server(authority: Identity, names: list[x509.GeneralName], now: dt.datetime) -> Identity:
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Continuity tracker")])
    end = min(now - BACKDATED + SERVER_LIFE, authority.certificate.not_valid_after_utc)
    issuer_key = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key())
    certificate = (
        _builder(subject, authority.certificate.subject, key, now, end)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_key_usage(signs_certificates=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .add_extension(issuer_key, critical=False)
        .sign(authority.key, hashes.SHA256())
    )
    return Identity(certificate, key)


def _builder(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now: dt.datetime, end: dt.datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BACKDATED)
        .not_valid_after(end)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _key_usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _names(phones: list[str], authority: x509.Certificate) -> list[x509.GeneralName]:
    """Raises CannotGoOn when the authority may not vouch for one of `phones`."""
    constraints = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    permitted = constraints.permitted_subtrees or []
    for text in phones:
        if not _may_vouch(permitted, _general_name(text)):
            raise CannotGoOn(
                f"{text} is outside of what the authority may vouch for, which was made when this machine "
                "had another name.",
                2,
            )
    own = [name for name in map(_general_name, own_names()) if _may_vouch(permitted, name)]
    loopback = [x509.IPAddress(address) for address in LOOPBACK]
    return list(dict.fromkeys([*map(_general_name, phones), *own, *loopback]))


def _general_name(text: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ipaddress.ip_address(text))
    except ValueError:
        return x509.DNSName(text)


def _may_vouch(permitted: list[x509.GeneralName], name: x509.GeneralName) -> bool:
    for tree in permitted:
        if isinstance(tree, x509.DNSName) and isinstance(name, x509.DNSName):
            if f".{name.value}".endswith(f".{tree.value}"):
                return True
        elif isinstance(tree, x509.IPAddress) and isinstance(name, x509.IPAddress):
            network = ipaddress.ip_network(str(tree.value))
            if ipaddress.ip_address(str(name.value)) in network:
                return True
    return False


def _alternative_names(certificate: x509.Certificate) -> list[x509.GeneralName]:
    return list(certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value)


def _texts(names: list[x509.GeneralName]) -> set[str]:
    return {str(name.value) for name in names}


def _still_good(
    server: x509.Certificate, authority: x509.Certificate, names: list[x509.GeneralName], now: dt.datetime
) -> bool:
    try:
        server.verify_directly_issued_by(authority)
    except (InvalidSignature, TypeError, ValueError):
        return False
    return set(_alternative_names(server)) == set(names) and (
        server.not_valid_before_utc <= now < server.not_valid_after_utc - RENEWED_BEFORE_END
    )
