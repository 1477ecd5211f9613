"""Lines with a prefix, a check value, headers and comments. Small cases by hand."""

from __future__ import annotations

import pytest

from feltload.acquisition import decode
from feltload.acquisition.wire.checks.named import check_by_name
from feltload.acquisition.wire.descriptions.schema import StreamDescription

COLUMNS = [
    {"name": "tag", "type": "text", "equals": "FLF"},
    {"name": "device_time", "unit": "ms"},
    {"name": "force", "unit": "N"},
]


def line(text, name="XOR-8", prefix="$"):
    """As NMEA 0183 has it: the value covers what is between prefix and star."""
    check = check_by_name(name)
    return f"{prefix}{text}*{check.of(text.encode()):0{2 * check.size}X}\r\n".encode()


def decoded(lines, fields=COLUMNS, **keys):
    keys = {"prefix": "$", "checksum": {"name": "XOR-8"}} | keys
    cell = StreamDescription(name="cell", kind="force", framing="lines", fields=fields, **keys)
    return decode([(k * 10_000_000, item) for k, item in enumerate([b"\r\n", *lines])], cell)


def test_a_sentence_as_nmea_0183_has_it():
    # The exclusive-or of the characters of "FLF,10,1.5" is 0x67.
    assert line("FLF,10,1.5") == b"$FLF,10,1.5*67\r\n"
    out = decoded([b"$FLF,10,1.5*67\r\n", b"$FLF,20,3.5*67\r\n"])
    assert out.frame["force_n"].tolist() == [1.5]
    assert out.frame["device_s"].tolist() == [0.01]
    assert (out.health.bad_checksum, out.health.bad_frames, out.health.ignored_frames) == (1, 0, 0)


def test_damaged_lines_next_to_sound_ones():
    lines = [line(f"FLF,{10 * k},{k / 2}") for k in range(40)]
    lines[5] = lines[5].replace(b"2.5", b"2.4")
    lines[9] = lines[9][:-4] + b"\r\n"
    lines[12] = lines[12].replace(b"*", b"#")
    lines[15] = b"FLF" + lines[15][4:]
    lines[20] = line("GGA,1,2,3,4")
    lines[25] = line("FLF,250")
    lines[30] = lines[30].replace(b"\r\n", b"\n")
    lines[35] = lines[35][:-4] + lines[35][-4:].lower()
    out = decoded(lines)
    left = [k for k in range(40) if k not in (5, 9, 12, 15, 20, 25)]
    assert out.frame["force_n"].tolist() == [k / 2 for k in left]
    # A wrong value; none at all, one without its mark, a line of too few columns; no prefix, another word.
    assert (out.health.bad_checksum, out.health.bad_frames, out.health.ignored_frames) == (1, 3, 2)


@pytest.mark.parametrize("name", ["SUM-8", "CRC-16/MODBUS", "CRC-32", "CRC-8"])
def test_other_checks_without_a_prefix(name):
    columns = [{"name": "device_time", "unit": "ms"}, {"name": "force", "unit": "N"}]
    lines = [line(f"{10 * k} {k}", name, prefix="") for k in range(50)]
    lines[7] = lines[7].replace(b" 7", b" 8")
    out = decoded(lines, columns, prefix="", delimiter="whitespace", checksum={"name": name})
    assert out.frame["force_n"].tolist() == [k for k in range(50) if k != 7]
    assert out.health.bad_checksum == 1


def test_header_and_comment_lines_anywhere():
    columns = [{"name": "device_time", "unit": "ms"}, {"name": "force", "unit": "N"}]
    lines = [b"time,force\r\n", b"10,1\r\n", b"## offset 3\r\n", b"20,2\r\n", b"time,force\r\n", b"30,3\r\n"]
    out = decoded(lines, columns, prefix="", checksum=None, comment="##", header="time,")
    assert out.frame["force_n"].tolist() == [1.0, 2.0, 3.0]
    assert (out.health.bad_frames, out.health.ignored_frames) == (0, 0)


def test_a_prefix_alone():
    columns = [{"name": "force", "unit": "N"}]
    out = decoded([b">1\n", b">2\r\n", b"3\n", b">\n", b">4x\n"], columns, prefix=">", checksum=None)
    assert out.frame["force_n"].tolist() == [1.0, 2.0]
    assert (out.health.ignored_frames, out.health.bad_frames) == (2, 1)


@pytest.mark.parametrize("digits", [b"7E", b"7e", b"7g", b"x7"])
def test_hexadecimal_digits_of_either_case_and_no_others(digits):
    text = next(
        f"FLF,10,{k}" for k in range(1000) if check_by_name("XOR-8").of(f"FLF,10,{k}".encode()) == 0x7E
    )
    out = decoded([f"${text}*".encode() + digits + b"\r\n"])
    assert len(out.frame) == int(digits.upper() == b"7E")
