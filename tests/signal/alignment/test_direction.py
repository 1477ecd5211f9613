"""Recordings cut so that they begin in the middle of a movement, by the emulated rig."""

import numpy as np
import pytest

from feltload.emulator import scenario, simulate
from feltload.signal.alignment.facts import AlignmentFact
from feltload.signal.pipeline import estimate
from feltload.signal.session import Reference, Session


@pytest.mark.parametrize("raising", [True, False])
def test_a_recording_may_begin_anywhere(raising):
    run = simulate(scenario("lever-row"), seed=3)
    truth = run.truth
    middle = 0.6 * truth["q_rad"].max()
    way = truth["rate_rad_s"] > 0.2 if raising else truth["rate_rad_s"] < -0.2
    begin = float(truth["t_s"][way & ((truth["q_rad"] - middle).abs() < 0.2)].iloc[0])
    session = Session(
        "cut",
        run.force[run.force["host_s"] > begin].reset_index(drop=True),
        run.inertial[run.inertial["host_s"] > begin].reset_index(drop=True),
        load_kg=run.scenario.load_kg,
    )
    made = estimate([session], reference=Reference("lever row", run.start_angle_rad, 0.0))
    assert np.mean(made.friction_n) > 0 and np.mean(made.inertia_n_per_rad_s2) > 0
    assert any(fact.kind == AlignmentFact.BEGINS_WITH_LOWERING for fact in made.warnings) is not raising
    static = run.scenario.static_force_n(made.angle_rad - run.start_angle_rad, run.scenario.load_kg)
    # The start is taken from the lowest position, and the force was not tared.
    offset = made.static_n[0] - static
    assert np.std(offset) < 0.03 * np.max(static)
