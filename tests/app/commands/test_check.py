"""`feltload check` on the shipped recordings (invented machines): tells a right survey from a wrong one."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest


@pytest.fixture(scope="module")
def measured(feltload, recordings, measured_row, tmp_path_factory):
    """Results of both machines, by the name of their recordings."""
    folder = tmp_path_factory.mktemp("check")
    shutil.copytree(measured_row, folder / "lever-row")
    loads = [recordings / f"peg-out-{load}kg.mcap" for load in (20, 40)]
    assert feltload("profile", *loads, "--out", folder / "peg-out").code == 0
    return folder


@pytest.mark.parametrize(("name", "code", "verdict"), [("lever-row", 0, "agrees"), ("peg-out", 1, "differs")])
def test_exit_code_follows_the_verdict(feltload, recordings, measured: Path, name, code, verdict):
    ran = feltload("check", measured / name, "--machine", recordings / "lever-row.toml", "--json")
    assert ran.code == code, ran.err
    said = json.loads(ran.out)
    assert said["verdict"] == verdict
    if verdict == "differs":
        # The peg of these recordings sits further out than the machine file says.
        assert "plates" in " ".join(said["changed"])
    again = feltload("check", measured / name, "--machine", recordings / "lever-row.toml")
    again.one_line_error("agreement.json", "--force-overwrite")


def test_the_page_is_four_sheets_of_paper(feltload, recordings, measured: Path, chromium, tmp_path):
    feltload("check", measured / "peg-out", "--machine", recordings / "lever-row.toml", "--force-overwrite")
    assert chromium.printed_pages(measured / "peg-out" / "check.html", tmp_path) <= 4
    # Its cell has no certificate.
    assert "Nobody stated how truly the force sensor reads" in (
        measured / "peg-out" / "check.html"
    ).read_text("utf-8")


def test_a_file_of_another_name_is_said_on_screen_page_and_in_data(
    feltload, recordings, measured: Path, tmp_path
):
    """Two machines of one model have one geometry: the numbers alone would agree."""
    other = tmp_path / "other.toml"
    text = (recordings / "lever-row.toml").read_text(encoding="utf-8")
    other.write_text(text.replace("lever-row, emulated (invented)", "row in the hall", 1), encoding="utf-8")
    ran = feltload("check", measured / "lever-row", "--machine", other, "--force-overwrite", "--json")
    assert ran.code == 0
    assert 'the machine file describes "row in the hall"' in ran.err
    assert json.loads(ran.out)["facts"][0]["kind"] == "machine-of-another-name"
    assert "row in the hall" in (measured / "lever-row" / "check.html").read_text(encoding="utf-8")
    same = feltload(
        "check", measured / "lever-row", "--machine", recordings / "lever-row.toml", "--force-overwrite"
    )
    assert "another name" not in same.err and "describes" not in same.err
