"""What a machine that gives makes look like help, on an emulated rig with physics of its own."""

import numpy as np
import pytest

from feltload.coaching import Phase, delivered_help, person_motion
from feltload.emulator import Joint, SimulatedRun, scenario, simulate
from feltload.signal import Reference, estimate
from profiled_rigs import session_of


def rig(seed: int) -> SimulatedRun:
    """An arm with a degree of play between the sensor's part and the load; nobody helps."""
    joint = Joint(float(np.radians(1.0)), 25.0, 0.03, "handle")
    return simulate(scenario("rising-arm", tempo="mixed", joint=joint), seed=seed)


def test_help_that_play_alone_looks_like_lies_within_what_is_said() -> None:
    run = rig(3)
    reference = Reference("rising-arm", run.start_angle_rad, 0.0)
    profile = estimate([session_of(run)], reference=reference)
    given = delivered_help(profile, person_motion(session_of(rig(8)), reference, profile.lag), 40.0)
    assert np.degrees(given.ahead_rad) == pytest.approx(1.0, abs=0.1)
    # Force and arm's angle of the machine itself: the steepest newtons per radian times the gap.
    angle = np.linspace(0.0, run.scenario.machine.travel_rad, 200)
    steepest = np.max(np.abs(np.gradient(run.scenario.static_force_n(angle), angle)))
    assert given.ahead_n == pytest.approx(steepest * np.radians(1.0), rel=0.15)
    # Looks like help, since the force rises along the travel; no more than that, beside what scatters.
    seen = np.nanmean(given.mean_n(Phase.ECCENTRIC))
    assert 0.3 * given.ahead_n < seen < given.ahead_n
