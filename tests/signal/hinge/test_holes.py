"""Holes in the inertial stream against the true motion of emulated machines: placed right, or left out and said."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.emulator import scenario, simulate
from feltload.signal.errors import MotionError
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.facts import HingeFact

GYRO = ["gyro_x_rad_s", "gyro_y_rad_s", "gyro_z_rad_s"]
ACCEL = ["accel_x_m_s2", "accel_y_m_s2", "accel_z_m_s2"]


def cut_motion(machine, holes, *, seed=7, sensors="ordinary"):
    """Motion estimated without the samples in the holes, and the true rotation at its times."""
    run = simulate(scenario(machine, sensors=sensors, tempo="mixed", load_kg=40.0), seed=seed)
    device = run.inertial["device_s"].to_numpy()
    time = (device - device[0]) * (1.0 - run.errors["inertial_clock_skew"])
    kept = np.all([(time < start) | (time >= stop) for start, stop in holes], axis=0)
    motion = estimate_hinge(
        time[kept], run.inertial[GYRO].to_numpy()[kept], run.inertial[ACCEL].to_numpy()[kept]
    )
    return motion, np.interp(motion.time_s, run.truth["t_s"], run.truth["q_rad"])


@pytest.mark.parametrize("machine", ["lever-row", "cam-drum", "inclined-lever"])
@pytest.mark.parametrize("holes", [[(16.0, 18.0)], [(12.0, 17.0)], [(7.0, 9.5), (14.0, 17.0), (22.0, 22.4)]])
def test_the_angle_after_a_hole_is_the_true_one(machine, holes):
    motion, truth = cut_motion(machine, holes)
    assert np.degrees(np.max(np.abs(motion.q_rad - truth))) < 0.5
    assert sum(fact.kind == HingeFact.HOLE for fact in motion.warnings) == len(holes)


def test_what_cannot_be_placed_is_left_out_and_said():
    motion, truth = cut_motion("lever-row", [(10.0, 12.0), (12.4, 15.0)])
    assert not np.any((motion.time_s > 10.0) & (motion.time_s < 15.0))
    assert any(
        fact.kind == HingeFact.LEFT_OUT_AFTER_HOLE and fact.span_s == pytest.approx((12.0, 12.4), abs=0.06)
        for fact in motion.warnings
    )
    assert np.degrees(np.max(np.abs(motion.q_rad - truth))) < 0.5


def test_what_is_left_out_is_counted_against_the_whole_recording():
    fragments_begin_s = 20.0
    motion, truth = cut_motion(
        "lever-row", [(start, start + 0.4) for start in np.arange(fragments_begin_s, 200.0, 1.2)]
    )
    left_out = [fact for fact in motion.warnings if fact.kind == HingeFact.LEFT_OUT_AFTER_HOLE]
    starts_s, stops_s = zip(*(fact.span_s for fact in left_out), strict=True)
    # More is left out than is kept, of a recording that goes on to the last fragment.
    lost_s = sum(stops_s) - sum(starts_s)
    assert lost_s > fragments_begin_s
    assert left_out[0].figure("share") == pytest.approx(lost_s / stops_s[-1], rel=0.01)
    assert np.degrees(np.max(np.abs(motion.q_rad - truth))) < 0.5


def test_a_record_in_fragments_is_refused():
    with pytest.raises(MotionError, match="broken into"):
        cut_motion("lever-row", [(start, start + 0.4) for start in np.arange(0.5, 60.0, 1.2)])
