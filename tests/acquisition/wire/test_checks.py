"""Check values against the public catalogue's own, another CRC library, and published sums."""

from __future__ import annotations

import zlib

import anycrc
import numpy as np
import pytest
from crccheck.crc import ALLCRCCLASSES

from feltload.acquisition.errors import DescriptionError
from feltload.acquisition.wire.checks.crc import Crc
from feltload.acquisition.wire.checks.named import catalogue, check_by_name
from feltload.acquisition.wire.descriptions.checksum import Checksum
from published_data import published


def of_columns(check, messages):
    """Values of messages of one length, as numbers."""
    columns = np.stack([np.frombuffer(message, dtype=np.uint8) for message in messages], axis=1)
    return [int.from_bytes(value.tobytes(), "little") for value in check.of_columns(columns).T]


@pytest.mark.parametrize(("name", "value"), published("crc").items())
def test_check_values_of_the_catalogue(name, value):
    check = check_by_name(name)
    assert check.of(b"123456789") == value
    assert of_columns(check, [b"123456789"] * 2) == [value] * 2


def test_every_entry_of_the_catalogue_has_its_check_value():
    for entry in ALLCRCCLASSES:
        check = check_by_name(entry._names[0])
        assert check.of(b"123456789") == entry._check_result, check.name
        assert of_columns(check, [b"123456789", b"987654321"])[0] == entry._check_result, check.name


def test_every_entry_agrees_with_another_library_on_random_messages():
    rng = np.random.default_rng(11)
    compared = 0
    for name, crc in catalogue().items():
        if name != crc.name or crc.width > 64:
            continue
        other = anycrc.CRC(crc.width, crc.poly, crc.init, crc.refin, crc.refout, crc.xorout)
        messages = [rng.bytes(17) for _ in range(5)]
        expected = [other.calc(message) for message in messages]
        assert of_columns(crc, messages) == expected, name
        assert [crc.of(message) for message in messages] == expected, name
        compared += 1
    assert compared > 100


@pytest.mark.parametrize(
    ("alias", "name"),
    [
        ("CRC-16/CCITT-FALSE", "CRC-16/IBM-3740"),
        ("crc-16/ccitt-false", "CRC-16/IBM-3740"),
        ("CRC-32", "CRC-32/ISO-HDLC"),
        ("XMODEM", "CRC-16/XMODEM"),
        ("CRC-32C", "CRC-32/ISCSI"),
        ("DOW-CRC", "CRC-8/MAXIM-DOW"),
    ],
)
def test_aliases_are_the_same_check(alias, name):
    assert check_by_name(alias).name == name


@pytest.mark.parametrize(("frame", "value"), published("modbus").items())
def test_modbus_frames(frame, value):
    made = check_by_name("CRC-16/MODBUS").of(bytes.fromhex(frame))
    assert made.to_bytes(2, "little") == bytes.fromhex(value)


@pytest.mark.parametrize("example", published("sums")["examples"])
def test_published_sums(example):
    check = check_by_name(example["name"])
    assert check.of(example["text"].encode()) == example["value"]
    assert of_columns(check, [example["text"].encode()] * 2) == [example["value"]] * 2


def test_adler_as_the_standard_library_has_it():
    message = np.random.default_rng(3).bytes(5000)
    assert check_by_name("ADLER-32").of(message) == zlib.adler32(message)


def test_plain_sums_by_hand():
    # 0x01 + 0xFF + 0x80 = 0x180.
    message = bytes([0x01, 0xFF, 0x80])
    values = {name: check_by_name(name).of(message) for name in ("SUM-8", "SUM-16", "XOR-8")}
    assert values == {"SUM-8": 0x80, "SUM-16": 0x180, "XOR-8": 0x7E}
    assert (check_by_name("SUM-8/NEGATED").of(message) + 0x180) % 256 == 0
    assert check_by_name("SUM-8/INVERTED").of(message) == 0x7F
    assert check_by_name("SUM-16/NEGATED").of(message) == 0x10000 - 0x180
    assert check_by_name("SUM-16/INVERTED").of(message) == 0xFFFF - 0x180
    # Fletcher modulo 256 by hand: sums 01, 00, 80; running 01, 01, 81.
    assert check_by_name("FLETCHER-16/MOD-256").of(message) == 0x8180


def test_a_crc_of_ones_own():
    own = Checksum(width=16, poly=0x1021, init=0xFFFF).check
    assert own.of(b"123456789") == check_by_name("CRC-16/IBM-3740").of(b"123456789")
    # Reflected out only, as CRC-12/UMTS is; and a width of no whole bytes.
    assert Checksum(width=12, poly=0x80F, refout=True).check.of(b"123456789") == 0xDAF
    assert isinstance(own, Crc) and own.size == 2
    for checksum in (Checksum(name="CRC-8"), Checksum(width=12, poly=0x80F, refout=True)):
        assert Checksum.model_validate_json(checksum.model_dump_json()) == checksum


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"name": "CRC-17"}, "unknown checksum"),
        ({"name": "CRC-8", "width": 8, "poly": 7}, "not both"),
        ({"width": 8}, "at least width and poly"),
        ({"width": 8, "poly": 0x107}, "more than the 8 bits"),
    ],
)
def test_checksums_that_cannot_be(keys, said):
    with pytest.raises(ValueError, match=said):
        Checksum(**keys)


def test_unknown_checksum_names_what_is_known():
    with pytest.raises(DescriptionError, match=r"CRC-16/IBM-3740.*FLETCHER-16.*width, poly"):
        check_by_name("CRC-17")


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("SUM-8", 1), ("SUM-8/INVERTED", 1), ("SUM-8/NEGATED", 1), ("XOR-8", 1), ("FLETCHER-16", 2),
        ("SUM-16", 2), ("SUM-16/INVERTED", 2), ("SUM-16/NEGATED", 2), ("FLETCHER-32", 4), ("ADLER-32", 4),
    ],
)  # fmt: skip
def test_a_sum_takes_the_bytes_of_its_name_in_a_frame(name, size):
    check = check_by_name(name)
    assert check.size == size
    assert check.of_columns(np.full((4, 3), 7, dtype=np.uint8)).shape == (size, 3)
