"""`feltload doctor` as a person and as a program runs it."""

from __future__ import annotations

import json


def test_it_says_what_it_looked_at_and_ends_with_what_it_found(tmp_path, feltload):
    ran = feltload("doctor", "--folder", tmp_path, "--scan", "0.2 s")
    assert ran.code in (0, 1)
    lines = ran.out.splitlines()
    for part in ("Bluetooth:", "disk:", "clock:", "libraries:", "browser:"):
        assert any(part in line for line in lines), part
    assert (ran.code == 1) == any(line.startswith("!") for line in lines)


def test_for_programs(tmp_path, feltload):
    ran = feltload("doctor", "--folder", tmp_path, "--bluetooth=false", "--json")
    record = json.loads(ran.out)
    assert record["ready"] is (ran.code == 0)
    assert "Bluetooth" not in record["parts"] and "disk-has-room" in str(record["parts"]["disk"])


def test_no_such_folder_is_one_line(tmp_path, feltload):
    feltload("doctor", "--folder", tmp_path / "gone").one_line_error("gone", "--folder")
