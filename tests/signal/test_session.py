"""Sessions from recorded bytes: the small recordings beside the code, made by the emulated rig."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feltload.acquisition.recording.recording import read_recording
from feltload.emulator import scenario
from feltload.signal.errors import SignalError
from feltload.signal.force_uncertainty import DEFAULT_GAIN_U
from feltload.signal.pipeline import estimate
from feltload.signal.profile.uncertainty.budget_item import BudgetSource
from feltload.signal.session import Reference, Session

RECORDINGS = Path(__file__).parents[2] / "recordings"


def test_two_recorded_loads_give_the_machine_back():
    sessions = [
        Session.from_recording(read_recording(RECORDINGS / f"lever-row-{load}kg.mcap"), name=f"{load} kg")
        for load in (20, 40)
    ]
    for session in sessions:
        assert session.force_uncertainty.zero_stated
        assert session.force_uncertainty.gain == DEFAULT_GAIN_U
        assert not session.force_uncertainty.gain_stated
    scene = scenario("lever-row")
    made = estimate(sessions, reference=Reference("lever row", scene.machine.start_angle_rad, 0.0))
    assert list(made.loads_kg) == [20.0, 40.0]
    for load, static in zip((20.0, 40.0), made.static_n, strict=True):
        truth = scene.static_force_n(made.angle_rad - scene.machine.start_angle_rad, load)
        assert np.sqrt(np.mean((static - truth) ** 2)) < 0.004 * np.max(truth)
    assert any(item.source is BudgetSource.FORCE_GAIN and not item.stated for item in made.budget)


def test_two_streams_of_a_kind_need_a_side():
    recording = read_recording(RECORDINGS / "lever-row-20kg.mcap")

    class TwoCells:
        where = "two.mcap"
        info = replace(recording.info, side=None)

        def streams_of(self, kind, side=None):
            return ("cell-left", "cell-right") if side is None else ()

    with pytest.raises(SignalError, match="2 force streams"):
        Session.from_recording(TwoCells())
    with pytest.raises(SignalError, match="no left force stream"):
        Session.from_recording(TwoCells(), side="left")
    assert Session.from_recording(recording).side == recording.info.side


def test_a_recording_of_one_side_is_not_taken_for_the_other():
    of_the_right = read_recording(RECORDINGS / "lever-row-20kg.mcap")
    of_the_right.info = replace(of_the_right.info, side="right")
    assert Session.from_recording(of_the_right).side == "right"
    with pytest.raises(SignalError, match="of the right side"):
        Session.from_recording(of_the_right, side="left")
