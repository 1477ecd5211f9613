"""`feltload report`: the page is found, drawn where it is missing, and handed to the browser."""

from __future__ import annotations

import json
import os
import shutil
import sys
import time
from pathlib import Path

import pytest


@pytest.fixture
def row(measured_row: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(measured_row, tmp_path / "row"))


@pytest.fixture
def browser(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A program that the system calls as its browser, and the file that it notes the address in."""
    noted, program = tmp_path / "opened.txt", tmp_path / "browser.py"
    program.write_text(f"import sys\nopen({str(noted)!r}, 'a').write(sys.argv[1])\n")
    monkeypatch.setenv("BROWSER", f"{sys.executable} {program} %s")
    return noted


def test_the_page_is_handed_to_the_browser(row, browser, feltload):
    ran = feltload("report", row, "--open", "--json")
    assert ran.code == 0, ran.err
    assert json.loads(ran.out) == {"report": str(row / "report.html"), "shown": True}
    assert browser.read_text() == (row / "report.html").resolve().as_uri()


def test_a_later_check_is_what_is_shown(row, browser, feltload):
    (row / "check.html").write_text("later")
    later = time.time() + 10
    os.utime(row / "check.html", (later, later))
    assert feltload("report", row, "--open").code == 0
    assert browser.read_text().endswith("check.html")


def test_it_is_drawn_where_it_is_missing_and_again_when_asked(row, feltload):
    page = row / "report.html"
    before = page.read_text()
    page.unlink()
    assert feltload("report", row).code == 0
    assert page.read_text() == before
    assert feltload("report", row, "--units", "lbf", "--force-overwrite").code == 0
    assert "lbf" in page.read_text()


def test_no_result_is_one_line(tmp_path, feltload):
    feltload("report", tmp_path).one_line_error("no profile here")
    assert list(tmp_path.iterdir()) == []


def test_without_a_browser_the_file_is_named(row, monkeypatch, feltload):
    monkeypatch.setenv("BROWSER", "no-such-browser-of-ours")
    monkeypatch.setenv("PATH", "")
    monkeypatch.delenv("DISPLAY", raising=False)
    ran = feltload("report", row, "--open")
    assert ran.code == 0 and str(row / "report.html") in ran.out
    assert "browser" in ran.err
