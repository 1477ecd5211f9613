"""Recordings of worlds where a sensor, a unit or a file is wrong: the first line names what is wrong, and blames nobody
else for it. Emulated, in this process."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.acquisition import import_csv
from feltload.app.cli import main
from feltload.emulator import machine_toml, scenario, simulate, write_logger_files

LBF_N = 4.4482216


def reversed_cell(force, inertial):
    return force.assign(force_n=-force["force_n"]), inertial


def read_in_lbf(force, inertial):
    return force.assign(force_n=force["force_n"] / LBF_N), inertial


def saturating(force, inertial):
    return force.assign(force_n=force["force_n"].clip(upper=force["force_n"].quantile(0.75))), inertial


def zero_moves(force, inertial):
    late = force["host_s"] > 0.5 * force["host_s"].iloc[-1]
    return force.assign(force_n=force["force_n"] + 30.0 * late), inertial


def slipping(force, inertial):
    """The sensor turns by 10 degrees about the hinge in mid-set."""
    turned, late = inertial.copy(), (inertial["host_s"] > 0.5 * inertial["host_s"].iloc[-1]).to_numpy()
    rate = inertial[[f"gyro_{axis}_rad_s" for axis in "xyz"]].to_numpy()
    hinge = np.linalg.svd(rate - np.median(rate, axis=0), full_matrices=False)[2][0]
    across = np.cross(np.eye(3), hinge)
    by = np.radians(10.0)
    turn = np.eye(3) + np.sin(by) * across + (1.0 - np.cos(by)) * across @ across
    for kind, unit in (("gyro", "rad_s"), ("accel", "m_s2")):
        columns = [f"{kind}_{axis}_{unit}" for axis in "xyz"]
        values = inertial[columns].to_numpy().copy()
        values[late] = values[late] @ turn
        turned[columns] = values
    return force, turned


def as_it_is(force, inertial):
    return force, inertial


@pytest.mark.parametrize(
    ("world", "file_of", "code", "first"),
    [
        (reversed_cell, "lever-row", 2, ("the load cell reads the wrong way round", "turn the cell")),
        (read_in_lbf, "lever-row", 0, ("as if lbf had been read as N", "before you look at plates")),
        (saturating, "lever-row", 0, ("at the end of its range", "larger range")),
        (zero_moves, "lever-row", 0, ("30 N higher at the end than at the start",)),
        (slipping, "lever-row", 0, ("the sensor may have slipped",)),
        (as_it_is, "rising-arm", 0, ("it may be another machine's",)),
    ],
)
def test_what_is_wrong_is_said_first(tmp_path, capsys, world, file_of, code, first):
    run = simulate(scenario("lever-row", load_kg=40.0), seed=3)
    force, inertial = world(run.force, run.inertial)
    write_logger_files(replace(run, force=force, inertial=inertial), tmp_path)
    recording = tmp_path / "set.mcap"
    files = tmp_path / "force.csv", tmp_path / "imu.csv", recording
    import_csv(*files, load_kg=40.0, machine_toml=machine_toml(scenario(file_of)))
    assert main(["profile", str(recording), "--out", str(tmp_path / "out")]) == code
    said = capsys.readouterr()
    line = (said.out if code == 0 else said.err).strip().splitlines()[0]
    assert code == 2 or line.startswith("! ")
    for words in first:
        assert words in line
