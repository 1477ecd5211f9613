"""Text lines: which are samples, which are read past, which are bad. Each by hand."""

from __future__ import annotations

import pytest

from feltload.acquisition import decode
from feltload.acquisition.wire.descriptions.schema import StreamDescription

COLUMNS = [{"name": "seq"}, {"name": "force", "unit": "N"}]


def decoded(lines, fields=COLUMNS, **keys):
    cell = StreamDescription(name="cell", kind="force", framing="lines", fields=fields, **keys)
    return decode([(k * 10_000_000, line) for k, line in enumerate(lines)], cell)


def test_comments_and_bare_carriage_returns_are_read_past():
    out = decoded([b"\n", b"0,1\r\n", b"\r\n", b"# 1,2\n", b"1,3\r\n", b"\n"], comment="#")
    assert out.frame["force_n"].tolist() == [1.0, 3.0]
    assert (out.health.bad_frames, out.health.dropped_bytes) == (0, 0)
    # Where no comments are agreed the line is bad.
    out = decoded([b"\n", b"0,1\n", b"# 1,2\n", b"1,3\n"])
    assert (out.frame["force_n"].tolist(), out.health.bad_frames) == ([1.0, 3.0], 1)
    assert (out.health.bad_checksum, out.health.ignored_frames) == (0, 0)


def test_a_single_digit_is_a_line():
    out = decoded([b"\n", b"5\n", b"7\n", b"x\n"], fields=[{"name": "force", "unit": "N"}])
    assert (out.frame["force_n"].tolist(), out.health.bad_frames) == ([5.0, 7.0], 1)


def test_further_columns_are_read_past_only_where_that_is_agreed():
    lines = [b"\n", b"0,1,ok,7\n", b"1,2\n", b"2\n", b"3,4,\n"]
    out = decoded(lines, more_columns=True)
    assert (out.frame["force_n"].tolist(), out.health.bad_frames) == ([1.0, 2.0, 4.0], 1)
    out = decoded(lines)
    assert (out.frame["force_n"].tolist(), out.health.bad_frames) == ([2.0], 3)


def test_header_lines_of_a_file_are_no_samples():
    fields = [{"name": "host_time", "unit": "s"}, {"name": "force", "unit": "N"}]
    lines = [b"10,1\n", b"11,2\n", b"12,3"]
    out = decoded(lines, fields=fields, timing="column", header_lines=1)
    # A file's last line needs no newline, and nothing before it is cut off.
    assert out.frame["force_n"].tolist() == [2.0, 3.0]
    assert out.frame["host_s"].tolist() == [11.0, 12.0]
    assert (out.health.bad_frames, out.health.dropped_bytes) == (0, 0)
    assert len(decoded(lines, fields=fields, timing="column").frame) == 3


@pytest.mark.parametrize("value", [b"nan", b"inf", b"-inf", b"1e999"])
def test_what_is_no_finite_number_is_a_bad_line(value):
    fields = [{"name": "tag", "type": "text"}, *COLUMNS]
    out = decoded([b"\n", b"a,0,1\n", b"b,1," + value + b"\n", b"c,2,3\n"], fields=fields)
    assert (out.frame["force_n"].tolist(), out.health.bad_frames) == ([1.0, 3.0], 1)
    assert out.health.dropped_bytes == 4 + len(value)


def test_a_value_that_means_none_leaves_its_line_out():
    fields = [{"name": "seq"}, {"name": "force", "unit": "N", "invalid": -999}]
    out = decoded([b"\n", b"0,1\n", b"1,-999\n", b"2,3\n"], fields=fields)
    assert (out.frame["force_n"].tolist(), out.frame["seq"].tolist()) == ([1.0, 3.0], [0.0, 2.0])
    assert out.health.bad_frames == 0
