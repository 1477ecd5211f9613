"""The joined table against the emulated truth: clocks of 16 bits, stalls of the host, a hole; and what it refuses."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.acquisition import read_recording
from feltload.core import InputError, Severity
from feltload.emulator import scenario, simulate
from feltload.signal import HandleTravel, Reference, Session, estimate, joined_table
from short_clock_recording import record_with_short_clocks

HOLE = (15.0, 16.2)
STALLS = ((6.3, 7.2), (10.1, 10.6), (18.4, 19.3))
RADIUS_M = 0.6


@pytest.fixture(scope="module")
def run():
    return simulate(scenario("lever-row", load_kg=40.0), seed=21)


@pytest.fixture(scope="module")
def joined(run, tmp_path_factory):
    path = tmp_path_factory.mktemp("joined") / "a.mcap"
    record_with_short_clocks(run, path, stalls=STALLS, holes=[HOLE])
    travel = HandleTravel(np.linspace(0.0, 2.0, 9), np.full(9, RADIUS_M))
    reference = Reference("lever", run.start_angle_rad, 0.0, handle_travel=travel)
    recording = read_recording(path)
    for name, samples in (("force", run.force_samples), ("inertial", run.inertial_samples)):
        kept = samples.kept.copy()
        if name == "inertial":
            kept &= (samples.sample_s < HOLE[0]) | (samples.sample_s >= HOLE[1])
        first, last = np.flatnonzero(kept)[[0, -1]]
        health = recording.health[name]
        assert (health.lost, health.uncounted) == (int((~kept[first:last]).sum()), 0)
    return joined_table(recording, reference=reference, rate_hz=200.0)


def truth_at(run, joined, name):
    # The table's clock is the host's, on which the inertial sensor's way is the zero of time.
    time = joined.frame["time_s"].to_numpy() - run.inertial_delay_s
    return np.interp(time, run.truth["t_s"], run.truth[name])


def test_force_and_motion_are_those_of_the_machine(run, joined):
    frame = joined.frame
    assert np.diff(frame["time_s"]) == pytest.approx(1.0 / 200.0)
    angle_off = frame["angle_rad"] - run.start_angle_rad - truth_at(run, joined, "q_rad")
    assert np.degrees(np.nanmax(np.abs(angle_off))) < 0.6
    assert np.nanstd(frame["rate_rad_s"] - truth_at(run, joined, "rate_rad_s")) < 0.03
    assert np.nanstd(frame["accel_rad_s2"] - truth_at(run, joined, "accel_rad_s2")) < 0.5
    pull = truth_at(run, joined, "handle_force_n")
    off = frame["force_n"].to_numpy() - pull
    off -= np.nanmedian(off)
    # What the cell's own filter takes off at jerks is left in; noise and gain are within a few newtons.
    assert np.nanpercentile(np.abs(off), 95) < 0.03 * np.nanmax(np.abs(pull))
    assert joined.lag.value_s == pytest.approx(run.true_lag_s, abs=0.004)


def test_nothing_is_made_up_in_the_hole_and_nothing_is_missing_in_the_stalls(joined):
    frame = joined.frame
    time = frame["time_s"].to_numpy()
    inside = (time > HOLE[0] + 0.05) & (time < HOLE[1] - 0.05)
    motion = ["angle_rad", "angle_deg", "rate_rad_s", "accel_rad_s2", "travel_percent", "handle_travel_mm"]
    assert frame.loc[inside, motion].isna().all().all()
    assert frame.loc[inside, ["phase", "repetition"]].isna().all().all()
    assert frame.loc[inside, "force_n"].notna().all()
    for start_s, stop_s in STALLS:
        stalled = frame[(time > start_s) & (time < stop_s)]
        assert stalled[["force_n", "angle_rad"]].notna().all().all()
    # The motion is there up to the hole and again soon after it.
    assert frame.loc[(time > HOLE[0] - 0.3) & (time < HOLE[0] - 0.05), "angle_rad"].notna().all()
    assert frame.loc[(time > HOLE[1] + 0.3) & (time < HOLE[1] + 0.6), "angle_rad"].notna().all()


def test_phases_go_with_the_rate_and_repetitions_count_from_one(joined):
    frame = joined.frame
    assert frame["repetition"].dropna().unique().tolist() == [1 + each.index for each in joined.repetitions]
    assert (frame.loc[frame["phase"] == "concentric", "rate_rad_s"] > -0.02).mean() > 0.99
    assert (frame.loc[frame["phase"] == "eccentric", "rate_rad_s"] < 0.02).mean() > 0.99
    assert (frame.loc[frame["phase"] == "between", "repetition"].isna()).all()
    within = frame["repetition"].notna()
    assert frame.loc[within, "travel_percent"].between(-2.0, 102.0).all()
    travel_m = (frame["angle_rad"] - frame["angle_rad"].min()) * RADIUS_M
    assert np.nanmax(np.abs(frame["handle_travel_mm"] - 1e3 * travel_m)) < 5.0


def test_a_profile_over_stalls_is_that_of_the_machine(run, tmp_path):
    record_with_short_clocks(run, tmp_path / "a.mcap", stalls=STALLS)
    session = Session.from_recording(read_recording(tmp_path / "a.mcap"))
    profile = estimate([session], reference=Reference("lever", run.start_angle_rad, 0.0))
    truth = run.scenario.static_force_n(profile.angle_rad - run.start_angle_rad)
    assert np.all(np.abs(profile.static_n[0] - truth) < 2.0 * profile.static_u95_n[0])
    # Nobody helped, nothing restarted, no clock is in doubt.
    assert [fact for fact in profile.warnings if fact.severity is not Severity.NOTE] == []


def test_a_rate_out_of_reach_is_refused(run, tmp_path):
    record_with_short_clocks(run, tmp_path / "a.mcap")
    recording = read_recording(tmp_path / "a.mcap")
    for rate_hz in (0.0, 9.0, 1e6, float("nan")):
        with pytest.raises(InputError, match="rows per second"):
            joined_table(recording, rate_hz=rate_hz)
