"""Signatures of certificates: Ed25519 (RFC 8032) over what a certificate states, whatever its spacing and order.

A signature says that the holder of a key stated exactly this; the fingerprint tells whose key it is to who knows it.
"""

from __future__ import annotations

import hashlib
import json
import os
import stat
from pathlib import Path
from typing import Any, Final

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
)

from feltload.acquisition.certificates.head import Signature
from feltload.acquisition.errors import CertificateError
from feltload.core import write_file

__all__ = ["key_fingerprint", "new_signing_key", "read_signing_key", "signed_text", "verify_signature"]

_KEY: Final = "signature"
_ABOUT: Final = b"feltload certificate 1\n"
"""Goes before what is signed, so that a signature of something else is none of a certificate."""
_REMEDY: Final = "name a key that `feltload calibrate keys` made"


def new_signing_key(path: Path) -> str:
    """Make a private key in a file that only its owner can read, and return its fingerprint.

    Raises
    ------
    CertificateError
        There is such a file already: a key that is lost cannot be made again.
    """
    if os.path.lexists(path):
        raise CertificateError(
            "exists already, and a key is never replaced", where=str(path), remedy="choose another name"
        )
    key = Ed25519PrivateKey.generate()
    write_file(path, key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()), private=True)
    return key_fingerprint(_public(key))


def read_signing_key(path: Path) -> Ed25519PrivateKey:
    """Read a private key.

    Raises
    ------
    CertificateError
        Missing, none of this kind, or readable by others.
    """
    try:
        data = path.read_bytes()
        mode = path.stat().st_mode
    except OSError as error:
        raise CertificateError(
            f"the key cannot be read ({error.strerror})", where=str(path), remedy=_REMEDY
        ) from None
    if os.name == "posix" and stat.S_IMODE(mode) & 0o077:
        raise CertificateError(
            "others can read this key, so what it signs could be anybody's",
            where=str(path),
            remedy=f"make a new one with `feltload calibrate keys`, or `chmod 600 {path.name}` if nobody did",
        )
    try:
        key = load_pem_private_key(data, None)
    except (ValueError, TypeError, UnsupportedAlgorithm):
        key = None
    if not isinstance(key, Ed25519PrivateKey):
        raise CertificateError("is no signing key", where=str(path), remedy=_REMEDY)
    return key


def signed_text(text: str, key: Ed25519PrivateKey) -> str:
    """JSON text of a certificate with its signature, in place of one that it may have."""
    values = json.loads(text)
    values[_KEY] = {"public_key": _public(key), "value": key.sign(_stated(values)).hex()}
    return json.dumps(values, indent=1, ensure_ascii=False) + "\n"


def verify_signature(text: str | bytes, signature: Signature, *, where: str | None = None) -> None:
    """Compare a certificate's text with its signature.

    Raises
    ------
    CertificateError
        They differ.
    """
    try:
        public = Ed25519PublicKey.from_public_bytes(bytes.fromhex(signature.public_key))
        values = json.loads(text, object_pairs_hook=_each_key_once)
        public.verify(bytes.fromhex(signature.value), _stated(values))
    except (InvalidSignature, ValueError, RecursionError):
        raise CertificateError(
            "the certificate was changed after it was signed: its signature does not fit",
            where=where,
            remedy="take the file as it was signed, or calibrate again",
        ) from None


def key_fingerprint(public_key: str) -> str:
    """First half of the SHA-256 of a public key (hexadecimal digits), in groups for the eye."""
    digest = hashlib.sha256(bytes.fromhex(public_key)).hexdigest()[:32]
    return " ".join(digest[k : k + 4] for k in range(0, len(digest), 4))


def _public(key: Ed25519PrivateKey) -> str:
    return key.public_key().public_bytes(Encoding.Raw, PublicFormat.Raw).hex()


def _stated(values: dict[str, Any]) -> bytes:
    """Everything but the signature, in one order and spacing."""
    rest = {name: value for name, value in values.items() if name != _KEY}
    return _ABOUT + json.dumps(rest, sort_keys=True, separators=(",", ":"), allow_nan=False).encode()


def _each_key_once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """A key that is there twice could be read one way here and another way elsewhere."""
    values = dict(pairs)
    if len(values) != len(pairs):
        raise ValueError("a key is there twice")
    return values
