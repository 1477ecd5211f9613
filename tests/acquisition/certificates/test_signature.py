"""Signatures of certificates: a changed byte is refused, whoever signed is told by the key's fingerprint.

Ed25519 itself is RFC 8032, by the library; its first test vector (section 7.1) is checked here against the fingerprint.
"""

from __future__ import annotations

import hashlib
import json
import os
import random
import stat
from pathlib import Path

import pytest

from feltload.acquisition import (
    CertificateError,
    certificate_json,
    key_fingerprint,
    new_signing_key,
    parse_certificate,
    read_signing_key,
    signed_text,
)

STORED = Path(__file__).parents[1] / "stored" / "inertial-certificate-without-turns.json"


@pytest.fixture
def signed(tmp_path) -> str:
    new_signing_key(tmp_path / "lab.key")
    return signed_text(STORED.read_text(encoding="utf-8"), read_signing_key(tmp_path / "lab.key"))


def test_what_was_signed_is_read_back_with_its_key(signed, tmp_path):
    certificate = parse_certificate(signed)
    key = read_signing_key(tmp_path / "lab.key")
    assert certificate.signature.public_key == key.public_key().public_bytes_raw().hex()
    plain = parse_certificate(STORED.read_text(encoding="utf-8"))
    assert certificate.model_copy(update={"signature": None}) == plain


def test_spacing_and_order_are_no_part_of_it(signed):
    values = json.loads(signed)
    shuffled = json.dumps(dict(reversed(values.items())), indent=3)
    assert parse_certificate(shuffled) == parse_certificate(signed)


def test_any_changed_byte_is_refused_or_changes_nothing(signed):
    chance = random.Random(5)
    data, sound, refused = signed.encode(), parse_certificate(signed), 0
    for _ in range(300):
        changed = bytearray(data)
        changed[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
        try:
            assert parse_certificate(bytes(changed)) == sound
        except CertificateError:
            refused += 1
    assert refused > 200


@pytest.mark.parametrize(
    "change",
    [
        lambda values: {"gravity_m_s2": 9.81},
        lambda values: {"calibrated_by": "another"},
        lambda values: {"signature": {**values["signature"], "value": "00" * 64}},
        lambda values: {"signature": {**values["signature"], "public_key": "11" * 32}},
    ],
)
def test_what_differs_is_one_clear_line(signed, change):
    values = json.loads(signed)
    with pytest.raises(CertificateError, match=r"imu\.json: the certificate was changed after it was signed"):
        parse_certificate(json.dumps({**values, **change(values)}), where="imu.json")


def test_a_key_that_is_there_twice_cannot_be_read_two_ways(signed):
    twice = signed.rstrip().removesuffix("}") + ', "place": ' + json.dumps(json.loads(signed)["place"]) + "}"
    with pytest.raises(CertificateError, match="was changed after it was signed"):
        parse_certificate(twice)


def test_another_one_s_signature_takes_the_place_of_the_first(signed, tmp_path):
    new_signing_key(tmp_path / "other.key")
    again = parse_certificate(signed_text(signed, read_signing_key(tmp_path / "other.key")))
    assert again.signature != parse_certificate(signed).signature


@pytest.mark.skipif(os.name != "posix", reason="modes of POSIX")
def test_a_key_is_for_its_owner_alone(tmp_path):
    path = tmp_path / "lab.key"
    new_signing_key(path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    path.chmod(0o640)
    with pytest.raises(CertificateError, match="others can read this key"):
        read_signing_key(path)


def test_a_key_is_never_replaced_and_nothing_else_is_one(tmp_path):
    path = tmp_path / "lab.key"
    new_signing_key(path)
    with pytest.raises(CertificateError, match="a key is never replaced"):
        new_signing_key(path)
    path.write_bytes(b"words")
    with pytest.raises(CertificateError, match="is no signing key; name a key that"):
        read_signing_key(path)
    with pytest.raises(CertificateError, match="the key cannot be read"):
        read_signing_key(tmp_path / "none.key")


def test_a_fingerprint_is_half_a_sha256_in_groups():
    # Public key of RFC 8032, section 7.1, test 1.
    public = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a"
    shown = key_fingerprint(public)
    assert [len(group) for group in shown.split()] == [4] * 8
    assert hashlib.sha256(bytes.fromhex(public)).hexdigest().startswith(shown.replace(" ", ""))


def test_unsigned_text_says_nothing_of_a_signature(signed):
    plain = parse_certificate(STORED.read_text(encoding="utf-8"))
    assert plain.signature is None
    assert parse_certificate(certificate_json(plain)) == plain
