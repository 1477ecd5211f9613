"""`feltload design`: a proposal, its page, its record, and a machine file that is never the old one."""

from __future__ import annotations

import json

import ezdxf
import numpy as np
import pytest

from feltload.calibration import ParameterKey, example_text, load_machine, parse_machine

TARGET = ("--target", "falls 8(4) % from start to end")
MOVES = ("--move", "plates.radius=205:330:25", "--move", "plates.angle=-20:60")


@pytest.fixture(scope="module")
def designed(feltload, tmp_path_factory):
    """A lever, designed: its folder and what the command said."""
    folder = tmp_path_factory.mktemp("design")
    (folder / "row.toml").write_text(example_text("lever"), encoding="utf-8")
    ran = feltload(
        "design",
        folder / "row.toml",
        *TARGET,
        *MOVES,
        "--travel",
        "50 deg",
        "--out",
        folder / "out",
        "--json",
    )
    return folder, ran


def test_the_new_machine_meets_the_target(designed):
    folder, ran = designed
    assert ran.code == 0, ran.err
    said = json.loads(ran.out)
    assert said["meets"] and said["miss_in_tolerances"] <= 1.0
    machine = load_machine(folder / "out" / "machine.toml")
    # By the machine file alone, from its ends: a fall of 4 to 12 %.
    start, end = machine.midway_force_n(np.radians([0.0, 50.0]), 40.0)
    assert 0.04 <= 1.0 - end / start <= 0.12
    assert machine.name.endswith(", proposed")
    # The old file is as it was.
    assert (folder / "row.toml").read_text(encoding="utf-8") == example_text("lever")
    record = json.loads((folder / "out" / "design.json").read_text(encoding="utf-8"))
    assert record["changes"] == said["changes"]
    (change,) = record["changes"]
    assert change["low"] <= change["proposed"] <= change["high"]
    assert [len(stage["changes"]) for stage in record["stages"]] == [0, 1, 2]


def test_the_page_says_what_to_change_and_what_it_is_not(designed):
    folder, ran = designed
    said = json.loads(ran.out)
    page = (folder / "out" / "design.html").read_text(encoding="utf-8")
    assert "A proposal is no strength calculation" in page
    assert "What each further change buys" in page
    assert f"{said['changes'][0]['proposed']:g}".replace("-", "−") in page
    assert "<script" not in page and "http://" not in page.replace("http://www.w3.org", "")


def test_the_proposal_is_drawn_over_todays_machine(designed):
    folder, ran = designed
    (change,) = json.loads(ran.out)["changes"]
    document = ezdxf.readfile(folder / "out" / "proposal.dxf")
    audit = document.audit()
    assert audit.errors == [] and audit.fixes == []
    space = document.modelspace()
    # What changed has its dimension, and nothing else.
    (entity,) = space.query("DIMENSION")
    for end in ("today", "proposed"):
        assert f"{change[end]:g}".replace("-", "−") in entity.dxf.text
    # Today's plates are on a layer of their own, where the file of today has them.
    machine = parse_machine(example_text("lever"))
    angle, radius = (machine.values[ParameterKey(name, "plates")] for name in ("angle", "radius"))
    centres = [np.array(ring.dxf.center)[:2] for ring in space.query('CIRCLE[layer=="TODAY"]')]
    at = 1e3 * radius * np.array([np.cos(angle), np.sin(angle)])
    assert min(np.hypot(*(centre - at)) for centre in centres) < 1e-6
    assert document.layers.get("TODAY").dxf.linetype == "DASHED"
    words = [text.dxf.text for text in space.query("TEXT")]
    assert "no strength calculation" in words and "lever row (invented), proposed" in words
    svg = (folder / "out" / "proposal.svg").read_text(encoding="utf-8")
    assert 'class="today"' in svg and "Changes: plates angle from 13°" in svg and "1 : 5 on paper" in svg


def test_a_design_is_not_written_over_and_not_beside_its_own_machine(designed, feltload, tmp_path):
    folder, _ = designed
    words = ("design", folder / "row.toml", *TARGET, *MOVES, "--travel", "50 deg")
    feltload(*words, "--out", folder / "out").one_line_error("--force-overwrite")
    (tmp_path / "machine.toml").write_text(example_text("lever"), encoding="utf-8")
    again = ("design", tmp_path / "machine.toml", *TARGET, *MOVES, "--out", tmp_path, "--force-overwrite")
    feltload(*again).one_line_error("the machine file that is designed from")


def test_a_cam_is_designed_and_drawn(feltload, tmp_path):
    text = example_text("cable").replace('diameter = "5 mm"', 'diameter = "4 mm"')
    (tmp_path / "m.toml").write_text(text, encoding="utf-8")
    target = "rises 20(3) % from start to middle, falls 10(3) % from middle to end"
    ran = feltload(
        "design", tmp_path / "m.toml", "--target", target, "--move", "cam", "--travel", "90 deg", "--out",
        tmp_path / "out", "--json",
    )  # fmt: skip
    assert ran.code == 0, ran.err
    assert json.loads(ran.out)["facts"] == []
    machine = load_machine(tmp_path / "out" / "machine.toml")
    start, middle, end = machine.midway_force_n(np.radians([0.0, 45.0, 90.0]), 40.0)
    assert 0.169 <= middle / start - 1.0 <= 0.231
    assert 0.069 <= 1.0 - end / middle <= 0.131


def test_a_target_that_cannot_be_met_says_so(feltload, tmp_path):
    (tmp_path / "row.toml").write_text(example_text("lever"), encoding="utf-8")
    target = "900(5) N at start, 100(5) N at end"
    ran = feltload(
        "design", tmp_path / "row.toml", "--target", target, "--move", "plates.radius=260:280", "--out",
        tmp_path / "out",
    )  # fmt: skip
    assert ran.code == 1, ran.err
    assert "No design within the bounds" in ran.out
    assert "What each target would have to yield" in ran.out
    conflict = json.loads((tmp_path / "out" / "design.json").read_text(encoding="utf-8"))["conflict"]
    assert [each["text"] for each in conflict["yielding"]] == ["900(5) N at start", "100(5) N at end"]
    assert all(each["times_its_tolerance"] is None for each in conflict["yielding"])
    page = (tmp_path / "out" / "design.html").read_text(encoding="utf-8")
    assert "What the targets cost each other" in page


def test_bounds_and_travel_are_typed_in_units_of_ones_own(feltload, tmp_path):
    (tmp_path / "row.toml").write_text(example_text("lever"), encoding="utf-8")
    moves = ("--move", "plates.radius=20:33 cm", "--move", "plates.angle=-20 deg:60 deg")
    ran = feltload("design", tmp_path / "row.toml", *TARGET, *moves, "--travel", "57.2 cm", "--json")
    assert ran.code == 0, ran.err
    said = json.loads(ran.out)
    assert said["travel_rad"] == pytest.approx(0.572 / 0.655, rel=1e-6)
    assert all(each["low"] in (200.0, -20.0) for each in said["changes"])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((*TARGET, "--move", "plates.radius=330:205"), ("plates.radius", "no room")),
        ((*TARGET, "--move", "plates.radius"), ("--move", "plates.radius=200:320")),
        ((*TARGET, "--move", "plates.radius=a:b"), ("--move",)),
        ((*TARGET, "--move", "plates.size=1:2"), ("plates.size",)),
        ((*TARGET, "--move", "handle_radius=600:700"), ("no target depends on handle_radius",)),
        ((*TARGET, "--move", "cam"), ("a lever has no cam",)),
        (TARGET, ("no dimension may move",)),
        (
            (*TARGET, "--move", "plates.radius=-50:20"),
            ("--move plates.radius", "into the pivot", "30 mm or more"),
        ),
        ((*TARGET, "--move", "plates.radius=20 kg:30 kg"), ('"kg" does not measure', "(mm)")),
        ((*TARGET, "--move", "plates.radius=20 mm:30 cm"), ("low:high",)),
        ((*TARGET, "--move", "cam", "--move", "handle_radius=600:700"), ("moves alone",)),
        (("--target", "-100(5) N at start", *MOVES), ("a force above zero",)),
        (("--target", "150(0) N at start", *MOVES), ("no tolerance",)),
        (("--target", "150(5) N at start, 180(5) N at start", *MOVES), ("180(5) N at start", "in one place")),
        (("--target", "150(5) N at start", *MOVES, "--load", "0 kg"), ("serve a load above zero",)),
        (
            ("--target", "150(5) N at start", "--move", "start_angle=-30:-20"),
            ("the force at rest does not change",),
        ),
        (MOVES, ("--target",)),
        (("--target", "250(5) N at 9 m", *MOVES), ("outside the travel", "0 cm to 91.5 cm")),
        (("--target", "250 N at start", *MOVES), ("250 N",)),
    ],
)
def test_designs_that_cannot_be_read_are_refused(words, said, feltload, tmp_path):
    (tmp_path / "row.toml").write_text(example_text("lever"), encoding="utf-8")
    feltload("design", tmp_path / "row.toml", *words).one_line_error(*said)
