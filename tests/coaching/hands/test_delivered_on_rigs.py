"""Delivered help on emulated rigs: other machines, sensors and dice than the measure was made on.

The rigs' mechanics are written from Lagrange's equation and share no code with the estimators; what the partner
really gave is part of the emulated truth.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from feltload.coaching import OverlapError, Phase, delivered_help
from feltload.emulator import Partner
from feltload.signal import ProfileEstimate, Reference
from profiled_rigs import profiled, session_on, true_help

RIGS = [
    ("lever-row", "ordinary"),
    ("rising-arm", "cheap"),
    ("four-bar", "ordinary"),
    ("cam-drum", "cheap"),
    ("over-the-top", "ordinary"),
    ("steep-hinge", "cheap"),
    ("band-arm", "ordinary"),
    ("sticky-lever", "cheap"),
]
HELPS = {
    "help at the end": Partner(60.0, 0.5, 1.0),
    "resistance at the start, raising only": Partner(-40.0, 0.0, 0.4, lowering=False),
}


def _seed(machine: str) -> int:
    return 300 + sum(map(ord, machine)) % 50


@cache
def _profile_of(machine: str, sensors: str) -> tuple[ProfileEstimate, Reference]:
    return profiled(machine, sensors, _seed(machine))


@pytest.mark.parametrize(("machine", "sensors"), RIGS)
def test_known_help_is_recovered_within_two_percent_of_peak(machine: str, sensors: str) -> None:
    seed = _seed(machine)
    profile, reference = _profile_of(machine, sensors)
    peak = float(np.nanmax(profile.raising_n))
    for what, partner in HELPS.items():
        motion, run = session_on(profile, reference, sensors, seed, partner=partner)
        given = delivered_help(profile, motion, 40.0)
        assert given.helped, what
        for phase in Phase:
            true = true_help(run, given.angle_rad, raising=phase == Phase.CONCENTRIC)
            error = given.mean_n(phase) - true
            assert np.isfinite(error).mean() > 0.8, (what, phase)
            assert float(np.sqrt(np.nanmean(error**2))) <= 0.02 * peak, (what, phase)


def test_no_help_reads_as_zero_within_its_band() -> None:
    """At least 95 % of the positions of half-repetitions and of means lie in their band, in two sessions a rig."""
    inside_half, inside_mean, mistaken, count = [], [], 0, 0
    for machine, sensors in RIGS:
        for seed in (500, 501):
            profile, reference = _profile_of(machine, sensors)
            motion, _ = session_on(profile, reference, sensors, seed + _seed(machine))
            given = delivered_help(profile, motion, 40.0)
            count += 1
            mistaken += given.helped
            for half in given.half_repetitions:
                seen = np.isfinite(half.help_n)
                inside_half.append((np.abs(half.help_n) <= given.u95_of(half))[seen])
            for phase in Phase:
                mean, u95 = given.mean_n(phase), given.u95_n(phase)
                seen = np.isfinite(mean)
                inside_mean.append((np.abs(mean) <= u95)[seen])
            # A band that is right because it is wide would be worth nothing.
            assert np.nanmedian(given.u95_n(Phase.CONCENTRIC)) < 0.015 * float(np.nanmax(profile.raising_n))
    assert count == 16
    assert np.concatenate(inside_half).mean() >= 0.95
    assert np.concatenate(inside_mean).mean() >= 0.95
    assert mistaken <= 1


def test_help_in_one_repetition_only_is_seen() -> None:
    profile, reference = profiled("lever-row", "ordinary", 31)
    motion, _ = session_on(profile, reference, "ordinary", 31)
    start, turn, _ = motion.repetitions[4]
    share = (motion.angle_rad - profile.angle_rad[0]) / np.ptp(profile.angle_rad)
    hand_n = 30.0 * ((motion.time_s > start) & (motion.time_s < turn) & (share > 0.4) & (share < 0.8))
    given = delivered_help(profile, replace(motion, force_n=motion.force_n - hand_n), 40.0)
    assert given.helped
    largest = max(given.half_repetitions, key=lambda half: float(np.nanmax(half.help_n)))
    assert (largest.repetition, largest.phase) == (4, "concentric")
    assert float(np.nanmax(largest.help_n)) == pytest.approx(30.0, abs=4.0)


def test_lost_samples_of_the_arm_are_not_treated_as_help() -> None:
    """A batch of the inertial sensor lost in mid-movement leaves its acceleration unknown there."""
    profile, reference = profiled("lever-row", "cheap", 2)
    motion, run = session_on(profile, reference, "cheap", 2)
    assert (np.diff(run.inertial["seq"]) > 1).any()
    assert motion.measured is not None and not motion.measured.all()
    assert not delivered_help(profile, motion, 40.0).helped


def test_a_session_within_another_part_of_the_travel_is_refused() -> None:
    profile, reference = profiled("lever-row", "ordinary", 31)
    motion, _ = session_on(profile, reference, "ordinary", 31)
    with pytest.raises(OverlapError, match="hardly moves within the range"):
        delivered_help(profile, replace(motion, angle_rad=motion.angle_rad + 2.0), 40.0)
