"""`feltload check --swing`: the free swing of the unloaded arm beside the verdict on the profile (invented machine)."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feltload.emulator import Person, scenario, simulate, write_logger_files
from feltload.emulator.machines.friction import Friction


@pytest.fixture(scope="module")
def scene():
    """An arm on good bearings; with the friction of a worn one it stops after one or two swings."""
    made = scenario("lever-row", load_kg=0.0, person=Person(swing_deg=30.0, swing_s=14.0))
    return replace(made, machine=replace(made.machine, friction=Friction(0.3, 0.0, viscous_n_per_rad_s=0.3)))


@pytest.fixture(scope="module")
def swing(feltload, recordings, scene, tmp_path_factory) -> Path:
    """Recording of the swing; machine file as shipped."""
    folder = tmp_path_factory.mktemp("swing")
    write_logger_files(simulate(scene, seed=5), folder)
    out = folder / "swing.mcap"
    done = feltload(
        *("import", "--force", folder / "force.csv", "--imu", folder / "imu.csv", "--load", "0 kg"),
        *("--machine", recordings / "lever-row.toml", "--out", out),
    )
    assert done.code == 0, done.err
    return out


@pytest.fixture(scope="module")
def row(measured_row, tmp_path_factory) -> Path:
    """A copy, since something is written into it."""
    return Path(shutil.copytree(measured_row, tmp_path_factory.mktemp("swing") / "row"))


@pytest.fixture
def machine(recordings, scene, tmp_path) -> Path:
    """The shipped machine file with how the parts' mass is spread, which the swing depends on."""
    text = (recordings / "lever-row.toml").read_text()
    for part in scene.machine.masses:
        if part.mass_kg is not None:
            spin_mm = 1e3 * np.sqrt(part.own_inertia_kg_m2 / part.mass_kg)
            named = f'name = "{part.name}"\n'
            assert named in text
            text = text.replace(named, f'{named}gyration_radius = "{spin_mm:.1f} +/- 2 mm"\n')
    path = tmp_path / "spread.toml"
    path.write_text(text)
    return path


def test_a_right_arm_agrees_in_profile_and_swing(feltload, row, machine, swing):
    done = feltload("check", row, "--machine", machine, "--swing", swing, "--force-overwrite")
    assert done.code == 0, (done.out, done.err)
    assert "free swing agrees: The free swing gives m g d / I" in done.out
    kept = json.loads((row / "agreement.json").read_text())["free_swing"]
    assert kept["agrees"] is True
    assert abs(kept["en"]) <= 1.0
    assert kept["moment_over_inertia_per_s2"] == pytest.approx(
        kept["surveyed_per_s2"], abs=2.0 * np.hypot(kept["u_per_s2"], kept["surveyed_u_per_s2"])
    )
    assert "The free swing gives" in (row / "check.html").read_text(encoding="utf-8")


def test_mass_further_out_than_the_file_says_shows_in_the_swing_alone(feltload, row, machine, swing):
    """Spreading an arm's mass leaves the force at rest as it was and slows the swing."""
    text = machine.read_text()
    was = text.split('name = "arm"\n')[1].splitlines()[0]
    machine.write_text(text.replace(was, 'gyration_radius = "5 +/- 2 mm"', 1))
    done = feltload("check", row, "--machine", machine, "--swing", swing, "--force-overwrite", "--json")
    assert done.code == 1, (done.out, done.err)
    said = json.loads(done.out)
    assert said["verdict"] == "agrees"
    assert said["free_swing"]["agrees"] is False


def test_without_a_swing_nothing_is_said_of_it(feltload, row, machine):
    done = feltload("check", row, "--machine", machine, "--force-overwrite")
    assert done.code == 0
    assert not any(line.startswith("free swing") for line in done.out.splitlines())
    assert json.loads((row / "agreement.json").read_text())["free_swing"] is None


def test_what_is_no_free_swing_is_refused_and_nothing_is_written(feltload, recordings, row, machine, swing):
    before = (row / "agreement.json").read_bytes() if (row / "agreement.json").exists() else None
    words = ("check", row, "--machine", machine, "--force-overwrite", "--swing")
    feltload(*words, recordings / "none.mcap").one_line_error("none.mcap")
    plain = ("check", row, "--machine", recordings / "lever-row.toml", "--force-overwrite", "--swing", swing)
    feltload(*plain).one_line_error("gyration_radius", "arm", "add it to the machine file")
    renamed = machine.with_name("other.toml")
    renamed.write_text(machine.read_text().replace("lever-row, emulated", "another"))
    other = ("check", row, "--machine", renamed, "--force-overwrite", "--swing", swing)
    feltload(*other).one_line_error("swing.mcap", "another")
    after = (row / "agreement.json").read_bytes() if (row / "agreement.json").exists() else None
    assert after == before
