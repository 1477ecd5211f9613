"""The certificate that this computer makes for itself, so that phones can talk to it over TLS.

Nobody signs it: a browser warns of it once, and a person compares its fingerprint. It is kept, so that the exception
made on a phone lasts.
"""

from __future__ import annotations

import datetime as dt
import ipaddress
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import platformdirs
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from feltload.app.errors import AppError
from feltload.core import write_file

VARIABLE = "FELTLOAD_STATE"
"""Environment variable that names another directory."""
LIFE = dt.timedelta(days=60)
"""Browsers refuse a certificate of more than 825 days, or 398 (CA/Browser Forum); a stolen key is of use for less."""
RENEWED_BEFORE = dt.timedelta(days=2)
"""A measurement is not interrupted by its end."""
CLOCKS_DIFFER = dt.timedelta(hours=24)
"""A phone's clock may be behind."""
LOOPBACK_ADDRESS = "127.0.0.1"


@dataclass(frozen=True)
class OwnCertificate:
    """A certificate of this computer and its key, as files.

    Attributes
    ----------
    certificate, key : Path
        PEM; the key is its owner's alone.
    fingerprint : str
        SHA-256 of the certificate as browsers show it: "5C:0F:..", 32 bytes.
    ends : datetime
        When it runs out, UTC.
    """

    certificate: Path
    key: Path
    fingerprint: str
    ends: dt.datetime


def own_certificate(
    addresses: Sequence[str], *, folder: Path | None = None, now: dt.datetime | None = None
) -> OwnCertificate:
    """The certificate kept for these addresses; a new one where it is missing, damaged, of others, or runs out.

    Parameters
    ----------
    addresses : sequence of str
        IP addresses of this computer on its networks.
    folder : Path, optional
        Where it is kept; the user's state directory unless given.
    now : datetime, optional

    Raises
    ------
    AppError
        It cannot be kept.
    """
    where = folder or _folder()
    now = now or dt.datetime.now(dt.UTC)
    named = frozenset(map(ipaddress.ip_address, (LOOPBACK_ADDRESS, *addresses)))
    certificate, key = where / "certificate.pem", where / "key.pem"
    try:
        where.mkdir(mode=0o700, parents=True, exist_ok=True)
        found = _usable(certificate, key, named, now)
        if found is None:
            found = _make(certificate, key, named, now)
    except OSError as error:
        raise AppError(
            f"the certificate cannot be kept ({error.strerror or error})",
            where=str(where),
            remedy=f"make the folder writable, or name another one in {VARIABLE}",
        ) from error
    fingerprint = found.fingerprint(hashes.SHA256()).hex(":").upper()
    return OwnCertificate(certificate, key, fingerprint, found.not_valid_after_utc)


def _folder() -> Path:
    named = os.environ.get(VARIABLE)
    return Path(named) if named else platformdirs.user_state_path("feltload") / "tls"


Addresses = frozenset[ipaddress.IPv4Address | ipaddress.IPv6Address]


def _usable(certificate: Path, key: Path, named: Addresses, now: dt.datetime) -> x509.Certificate | None:
    """What is kept, if it still serves these addresses and belongs to its key."""
    try:
        found = x509.load_pem_x509_certificate(certificate.read_bytes())
        private = serialization.load_pem_private_key(key.read_bytes(), password=None)
        names = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (FileNotFoundError, ValueError, TypeError, x509.ExtensionNotFound):
        return None
    mine = private.public_key() == found.public_key() and frozenset(names.get_values_for_type(x509.IPAddress))
    in_time = found.not_valid_before_utc <= now and now + RENEWED_BEFORE < found.not_valid_after_utc
    key.chmod(0o600)
    return found if mine == named and in_time else None


def _make(certificate: Path, key: Path, named: Addresses, now: dt.datetime) -> x509.Certificate:
    private = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name(
        [
            x509.NameAttribute(NameOID.COMMON_NAME, "feltload on this computer"),
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, "made by feltload itself, signed by nobody"),
        ]
    )
    alternatives = [x509.DNSName("localhost"), *(x509.IPAddress(address) for address in _ordered(named))]
    made = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(private.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - CLOCKS_DIFFER)
        .not_valid_after(now + LIFE)
        .add_extension(x509.SubjectAlternativeName(alternatives), critical=False)
        # Of no use to sign others with, should somebody install it.
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(private, hashes.SHA256())
    )
    write_file(
        key,
        private.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        ),
        private=True,
    )
    write_file(certificate, made.public_bytes(serialization.Encoding.PEM))
    return made


def _ordered(named: Addresses) -> list[ipaddress.IPv4Address | ipaddress.IPv6Address]:
    return sorted(named, key=lambda address: (address.version, int(address)))
