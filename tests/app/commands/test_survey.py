"""`feltload survey`: a machine file to begin with, and what matters most first."""

from __future__ import annotations

import json
from xml.etree import ElementTree

import pytest


@pytest.mark.parametrize("kind", ["lever", "four-bar", "cable", "straight-pull", "sled"])
def test_example_file_can_be_surveyed_in_turn(feltload, tmp_path, kind):
    start = tmp_path / f"{kind}.toml"
    first = feltload("survey", kind, "--start", start, "--json")
    assert first.code == 0, first.err
    said = json.loads(first.out)
    shares = [item["share"] for item in said["items"]]
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) == pytest.approx(1.0)
    again = feltload("survey", start, "--json")
    assert again.code == 0, again.err
    assert json.loads(again.out)["items"] == said["items"]


def test_what_does_not_matter_is_said_plainly(feltload):
    """At a given rotation the force at rest does not depend on how the angle is counted, nor on how mass is spread."""
    lines = feltload("survey", "lever").out.splitlines()
    for name in ("start angle", "arm gyration radius"):
        (line,) = [line for line in lines if line.startswith(f"- {name}:")]
        assert "hardly matters to the force at rest" in line
    assert not any("e-" in line.split("How:")[0] for line in lines)


def test_unknown_machine(feltload):
    feltload("survey", "none.toml").one_line_error("none.toml")


def test_nothing_is_seen_without_a_size(feltload):
    feltload("survey", "lever", "--see", "0").one_line_error("--see")


def test_drawing_shows_the_machine_and_its_dimensions(feltload, tmp_path):
    drawing = tmp_path / "row.svg"
    ran = feltload("survey", "lever", "--drawing", drawing, "--json")
    assert ran.code == 0, ran.err
    said = json.loads(ran.out)
    assert said["drawing"] == str(drawing)
    root = ElementTree.parse(drawing).getroot()
    # Text is drawn as outlines there; each piece keeps its words in a comment before it.
    assert root.tag.endswith("svg")
    text = drawing.read_text(encoding="utf-8")
    assert "(40 kg)" in text
    feltload("survey", "lever", "--drawing", drawing).one_line_error("--force-overwrite")


def test_drawing_of_an_unknown_kind(feltload, tmp_path):
    feltload("survey", "lever", "--drawing", tmp_path / "m.doc").one_line_error("--drawing", ".svg")


def test_the_page_draws_the_curve_and_what_each_dimension_does(feltload, tmp_path):
    page = tmp_path / "row.html"
    ran = feltload("survey", "lever", "--page", page, "--json")
    assert ran.code == 0, ran.err
    said = json.loads(ran.out)
    assert said["page"] == str(page)
    text = page.read_text(encoding="utf-8")
    for item in said["items"]:
        assert item["name"].replace(".", " ").replace("_", " ") in text
    assert "N per mm" in text
    assert "http" not in text.replace("http://www.w3.org", "")
    feltload("survey", "lever", "--page", page).one_line_error("--force-overwrite")
    feltload("survey", "lever", "--page", tmp_path / "row.pdf").one_line_error(".html")
