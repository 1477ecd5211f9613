"""Tilt of the hinge and elevation of the sensor, by hand and on emulated sessions whose mounting is drawn."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from feltload.core import STANDARD_GRAVITY_M_S2 as G
from feltload.emulator import scenario, simulate
from feltload.signal import estimate_hinge, join_clock
from feltload.signal.movement.attitude import attitude_of


def _found(tilt_deg: float, **given: object) -> SimpleNamespace:
    tilt = np.radians(tilt_deg)
    fields = {
        "gravity_in_plane_m_s2": G * np.cos(tilt),
        "gravity_along_hinge_m_s2": -G * np.sin(tilt),
        "u_accel_offset_m_s2": 0.3,
        "u_accel_scale": 0.005,
        "mount_radius_m": np.array([-0.1, -0.1 * np.sqrt(3.0)]),
        "u_mount_m": 0.001,
        "u_up_rad": 0.0,
    }
    return SimpleNamespace(**(fields | given))


def test_a_level_hinge_is_known_to_what_the_offset_makes_of_it() -> None:
    attitude = attitude_of("a", _found(0.0), start_seen=True)
    assert attitude.inclination_rad == pytest.approx(0.0, abs=1e-6)
    assert attitude.u_inclination_rad == pytest.approx(0.3 / G, rel=1e-3)


def test_a_tilted_hinge_is_known_by_gravity_in_its_plane_as_well() -> None:
    """At 30°: 0.3 / g cos 30° by the offset, hypot(0.005, 0.002) / tan 30° by the scale."""
    attitude = attitude_of("a", _found(30.0), start_seen=True)
    assert np.degrees(attitude.inclination_rad) == pytest.approx(30.0)
    by_offset, by_scale = 0.3 * np.cos(np.radians(30.0)) / G, np.hypot(0.005, 0.002) * np.sqrt(3.0)
    assert attitude.u_inclination_rad == pytest.approx(1.0 / np.hypot(1.0 / by_offset, 1.0 / by_scale))


def test_readings_that_do_not_fit_one_another_are_doubted() -> None:
    """In the plane 30° are seen, along the hinge nothing."""
    right = attitude_of("a", _found(30.0), start_seen=True)
    wrong = attitude_of("a", _found(30.0, gravity_along_hinge_m_s2=0.0), start_seen=True)
    assert wrong.u_inclination_rad > 3.0 * right.u_inclination_rad


def test_the_place_of_the_sensor_by_hand() -> None:
    """10 cm below the hinge and 17.3 cm to its right: 30° below the horizontal."""
    attitude = attitude_of("a", _found(0.0, mount_radius_m=np.array([-0.1, -0.1732])), start_seen=True)
    assert np.degrees(attitude.elevation_rad) == pytest.approx(-30.0, abs=0.01)
    assert attitude.u_elevation_rad == pytest.approx(np.radians(0.5))


@pytest.mark.parametrize(("radius_m", "start_seen"), [(0.03, True), (0.2, False)])
def test_a_place_that_says_nothing_is_not_given(radius_m: float, start_seen: bool) -> None:
    found = _found(0.0, mount_radius_m=np.array([0.0, radius_m]))
    assert attitude_of("a", found, start_seen=start_seen).elevation_rad is None


@pytest.mark.parametrize("name", ["inclined-lever", "four-bar", "cam-drum"])
def test_emulated_sensors_show_hinge_and_mounting(name: str) -> None:
    run = simulate(scenario(name, sensors="ordinary"), seed=5)
    frame = run.inertial
    clock = join_clock(*(frame[key].to_numpy(float) for key in ("host_s", "device_s", "seq")))
    gyro, accel = (
        frame[[f"{key.format(axis)}" for axis in "xyz"]].to_numpy(float)
        for key in ("gyro_{}_rad_s", "accel_{}_m_s2")
    )
    motion = estimate_hinge(clock.time_s, gyro, accel)
    attitude = attitude_of("a", motion.parameters, start_seen=True)
    tilt = run.scenario.machine.hinge_inclination_rad
    assert abs(attitude.inclination_rad - tilt) < 3.0 * attitude.u_inclination_rad
    mounted = np.arctan2(run.errors["mount_beside_m"], run.errors["mount_along_m"])
    elevation = run.scenario.machine.start_angle_rad + mounted
    assert abs(attitude.elevation_rad - elevation) < 3.0 * attitude.u_elevation_rad
