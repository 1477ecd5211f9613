"""Help while it is given, against what an emulated partner really gave."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.coaching import HelpDoubt, LiveHelp, person_motion
from feltload.emulator import Partner, Person, scenario, simulate
from profiled_rigs import profiled, session_of


@pytest.fixture(scope="module")
def measured():
    return profiled("lever-row", "ordinary", 3)


@pytest.mark.parametrize(("force_n", "tempo"), [(60.0, "slow"), (-40.0, "mixed"), (0.0, "mixed")])
def test_help_is_known_within_its_band_a_tenth_of_a_second_later(measured, force_n, tempo):
    profile, reference = measured
    person, partner = Person(repetitions=3), Partner(force_n, 0.5, 1.0) if force_n else None
    rig = scenario("lever-row", sensors="ordinary", tempo=tempo, load_kg=40.0, partner=partner, person=person)
    run = simulate(rig, seed=3007)
    session = session_of(run)
    motion = person_motion(session, reference, profile.lag)
    live = LiveHelp(profile, 40.0, u_zero_n=session.force_uncertainty.zero_n)
    found, delays = [], []
    for start in range(0, motion.time_s.size - 3, 3):
        part = slice(start, start + 3)
        now = live.push(
            motion.time_s[part],
            motion.angle_rad[part],
            motion.rate_rad_s[part],
            np.full(3, motion.u_angle_rad),
            motion.force_n[part],
        )
        if now is not None and now.doubt is None:
            found.append((now.time_s, now.help_n, now.u95_n))
            delays.append(motion.time_s[start + 2] - now.time_s)
    at_s, help_n, u95_n = np.array(found).T
    given_n = np.interp(at_s, run.truth["t_s"], run.truth["partner_force_n"])
    assert np.mean(np.abs(help_n - given_n) <= u95_n) >= 0.9
    assert np.median(u95_n) < 5.0
    assert max(delays) <= 0.1


def test_what_cannot_be_known_is_said(measured):
    profile, _ = measured
    time_s = np.arange(30) / 100.0
    low, high = profile.angle_rad[0], profile.angle_rad[-1]

    def last(angle_rad, rate_rad_s):
        fill = np.full(30, 0.001)
        return LiveHelp(profile, 40.0).push(
            time_s, angle_rad, np.full(30, rate_rad_s), fill, np.full(30, 100.0)
        )

    middle = 0.5 * (low + high) + 0.3 * time_s
    assert last(middle, 0.3).doubt is None
    assert last(middle, 0.01).doubt is HelpDoubt.TURNING
    assert last(high + 0.05 + 0.3 * time_s, 0.3).doubt is HelpDoubt.OUTSIDE_PROFILE
    assert np.isnan(last(middle, 0.01).help_n)
    assert LiveHelp(profile, 40.0).push(time_s[:2], middle[:2], middle[:2], middle[:2], middle[:2]) is None
