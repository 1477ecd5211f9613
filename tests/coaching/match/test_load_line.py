"""Force at a load that was not measured, against the emulated machine with that load."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.coaching import LoadLine, MatchFact, match_capacity
from feltload.emulator import Friction, scenario, simulate
from feltload.signal.pipeline import estimate
from feltload.signal.session import Reference
from made_capacity import made_capacity
from profiled_rigs import session_of


def test_friction_is_carried_along_the_line_with_its_band() -> None:
    """Truth: 6 N whatever the load and 0.2 N for every kilogram; measured with 15 and 45 kg, asked for at 60 kg."""
    runs = []
    for number, load in enumerate((15.0, 45.0)):
        scene = scenario("lever-row", load_kg=load)
        scene = replace(scene, machine=replace(scene.machine, friction=Friction(6.0, 0.2)))
        runs.append(simulate(scene, seed=60 + number))
    sessions = [session_of(run, f"{run.load_kg:g} kg") for run in runs]
    profile = estimate(sessions, reference=Reference("lever", runs[0].start_angle_rad, 0.0))
    line = LoadLine.of(profile)
    at_60 = match_capacity(line, made_capacity(force_n=(900.0, 900.0)), 60.0)
    (carried,) = [fact for fact in at_60.warnings if fact.kind is MatchFact.FRICTION_CARRIED]
    assert carried.figure("friction_n") == pytest.approx(18.0, abs=1.5 * carried.figure("u95_n"))
    assert 0.05 < carried.figure("u95_n") < 1.0
    raising = line.raising_n(60.0)
    q = line.angle_rad - runs[0].start_angle_rad
    truth = runs[0].scenario.static_force_n(q, 60.0) + 18.0
    assert np.mean(np.abs(raising - truth) <= 2.0 * line.u_n(60.0)) > 0.8
    # A load that was measured is not carried.
    at_45 = match_capacity(line, made_capacity(force_n=(900.0, 900.0)), 45.0)
    assert MatchFact.FRICTION_CARRIED not in [fact.kind for fact in at_45.warnings]
