"""Loads to choose from: whole, below what was asked for, and never heavier for a painful range."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feltload.app.files.provenance import Provenance
from feltload.app.people.fitting import SUGGESTED_DEMANDS, MeasuredMachine, suggest_loads
from feltload.coaching import LoadLine, load_for_demand
from lever_profile import lever_profile
from made_capacity import made_capacity


def machine(*loads_kg: float) -> MeasuredMachine:
    profile = lever_profile(loads_kg=loads_kg)
    return MeasuredMachine(
        Path("row"), profile, LoadLine.of(profile), Provenance(feltload="1", recordings=())
    )


def test_suggested_loads_are_whole_and_ask_for_no_more_than_their_share() -> None:
    rig, capacity = machine(20.0, 40.0), made_capacity()
    found = suggest_loads(rig, capacity)
    assert [one.load_kg for one in found] == sorted(one.load_kg for one in found)
    assert [one.load_kg for one in found if one.measured] == [20.0, 40.0]
    predicted = [one for one in found if not one.measured]
    assert all(one.load_kg == round(one.load_kg) for one in predicted)
    possible = [load_for_demand(rig.line, capacity, wanted) for wanted in SUGGESTED_DEMANDS]
    # What would be heavier than anything measured is not suggested: its maker may not allow it.
    assert possible[0] < 40.0 < possible[-1]
    wanted_kg = [load_kg for load_kg in possible if load_kg < 40.0]
    for wanted, load_kg, one in zip(SUGGESTED_DEMANDS, wanted_kg, predicted, strict=False):
        assert one.demand <= wanted
        assert one.load_kg == pytest.approx(load_kg, abs=1.0)
    assert len(predicted) == len(wanted_kg)


def test_one_measured_load_suggests_no_other() -> None:
    assert [one.load_kg for one in suggest_loads(machine(40.0), made_capacity())] == [40.0]


@pytest.mark.parametrize("painful_deg", [(-25.0, 0.0), (20.0, 45.0), (30.0, 46.0)])
def test_a_painful_range_makes_no_suggested_load_heavier(painful_deg: tuple[float, float]) -> None:
    rig, capacity = machine(20.0, 40.0), made_capacity()
    low, high = np.deg2rad(painful_deg)
    sore = capacity.marked([(float(low), float(high))])
    most = {one.demand: one.load_kg for one in suggest_loads(rig, capacity) if not one.measured}
    found = [one for one in suggest_loads(rig, sore) if not one.measured]
    assert max(one.load_kg for one in found) <= max(most.values())
    assert replace(sore, painful=()).force_n.tolist() == capacity.force_n.tolist()
