"""`feltload check` on the shipped recordings (invented machines): tells a right survey from a wrong one."""

from __future__ import annotations

import json

import pytest


@pytest.mark.parametrize(("name", "code", "verdict"), [("lever-row", 0, "agrees"), ("peg-out", 1, "differs")])
def test_exit_code_follows_the_verdict(feltload, recordings, tmp_path, name, code, verdict):
    sets = [recordings / f"{name}-{load}kg.mcap" for load in (20, 40)]
    made = feltload("profile", *sets, "--out", tmp_path / "r")
    assert made.code == 0, made.err
    ran = feltload("check", tmp_path / "r", "--machine", recordings / "lever-row.toml", "--json")
    assert ran.code == code, ran.err
    said = json.loads(ran.out)
    assert said["verdict"] == verdict
    if verdict == "differs":
        # The peg of these recordings sits further out than the machine file says.
        assert "plates" in " ".join(said["changed"])
    again = feltload("check", tmp_path / "r", "--machine", recordings / "lever-row.toml")
    again.one_line_error("agreement.json", "--force-overwrite")
