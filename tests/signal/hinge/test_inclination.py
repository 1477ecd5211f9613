"""The hinge's inclination, which the accelerometer sees, against what a machine file states."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.emulator import Person, scenario, simulate
from feltload.signal.hinge.diagnostics import inclination_fact
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.facts import HingeFact


def measured_rad(machine: str, sensors: str) -> float:
    run = simulate(scenario(machine, sensors=sensors, person=Person(repetitions=3)), seed=5)
    gyro, accel = (run.inertial[[f"{kind}_{axis}_{unit}" for axis in "xyz"]].to_numpy(float)
                   for kind, unit in (("gyro", "rad_s"), ("accel", "m_s2")))  # fmt: skip
    return estimate_hinge(run.inertial["device_s"].to_numpy(float), gyro, accel).parameters.inclination_rad


@pytest.mark.parametrize("sensors", ["ordinary", "cheap"])
def test_an_inclined_hinge_that_the_machine_file_lacks_is_found(sensors):
    # The emulated machine's hinge is inclined by 25 degrees.
    inclination = measured_rad("inclined-lever", sensors)
    assert np.degrees(inclination) == pytest.approx(25.0, abs=4.0)
    fact = inclination_fact(inclination, 0.0)
    assert fact is not None
    assert fact.kind == HingeFact.INCLINATION_DIFFERS
    assert fact.figure("share") == pytest.approx(1.0 - np.cos(inclination))
    assert fact.figure("stated_rad") == 0.0
    unstated = inclination_fact(inclination, 0.0, stated=False)
    assert unstated is not None
    assert "stated_rad" not in unstated.figures
    assert inclination_fact(inclination, np.radians(25.0)) is None
    assert inclination_fact(inclination, None) is None


@pytest.mark.parametrize("sensors", ["ordinary", "cheap"])
def test_a_level_hinge_raises_no_doubt(sensors):
    assert inclination_fact(measured_rad("lever-row", sensors), 0.0) is None


def test_a_small_tilt_hardly_matters_to_the_force():
    assert inclination_fact(np.radians(8.0), 0.0) is None
    assert inclination_fact(np.radians(15.0), 0.0) is not None
