"""What to do about a profile: by its facts, and never more load."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from built_estimate import built_estimate
from feltload.app.text.machine.advice import describe_advice
from feltload.core import Fact, Severity
from feltload.signal import ProfileEstimate, ProfileFact, describe_shape

ANGLES = np.radians(np.linspace(-20.0, 40.0, 61))
SHARE = np.linspace(0.0, 1.0, 61)
CURVES = {
    "later start stop": 300.0 - 150.0 * SHARE,
    "over the middle": 300.0 - 600.0 * (SHARE - 0.5) ** 2,
    "turn before it": 150.0 + 150.0 * SHARE,
    "both ends are heavy": 150.0 + 600.0 * (SHARE - 0.5) ** 2,
    "the plates decide": 200.0 + 5.0 * SHARE,
}


def advice(static_n: np.ndarray, *, differs: bool = False, **given: object) -> str:
    estimate: ProfileEstimate = replace(built_estimate(ANGLES, static_n[None, :]), **given)
    return describe_advice(estimate, 0, describe_shape(estimate, 0), differs=differs)


@pytest.mark.parametrize("words", CURVES)
def test_advice_follows_the_curve_and_never_adds_load(words: str) -> None:
    said = advice(CURVES[words])
    assert words in said
    assert said.startswith("What to do: ")
    assert not [more for more in ("add plates", "heavier plates", "more plates", "more load") if more in said]


def test_the_machine_and_the_data_come_first() -> None:
    curve = CURVES["turn before it"]
    assert advice(curve, differs=True).startswith("What to do: look at the machine, which differs")
    doubt = Fact(ProfileFact.NEGATIVE_FORCE, Severity.SERIOUS)
    assert advice(curve, warnings=(doubt,)).startswith("What to do: do not use this result yet")


def test_stiff_bearings_are_named() -> None:
    assert "bearings" not in advice(CURVES["turn before it"])
    stiff = np.full((1, 61), 60.0)
    assert "have bearings, guides and cables looked at" in advice(CURVES["turn before it"], friction_n=stiff)
