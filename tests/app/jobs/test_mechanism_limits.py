"""A travel that the machine does not have is refused, whatever the profile says of itself."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from feltload.app.errors import UsageError
from feltload.app.jobs.mechanism_limits import read_travel, require_possible
from feltload.calibration import example_text, parse_machine
from feltload.signal import ProfileError
from made_estimate import made_estimate

SOUND = made_estimate()


def stretched(factor):
    low = SOUND.angle_rad[0]
    return replace(SOUND, angle_rad=low + factor * (SOUND.angle_rad - low))


@pytest.mark.parametrize(
    ("kind", "factor", "reason"),
    [
        ("lever", 5.0, "no part of .* goes round"),
        ("lever", 4.5, "moves the handle of .* by"),
        ("four-bar", 4.0, "cannot do|moves the handle"),
    ],
)
def test_a_travel_that_the_mechanism_lacks_is_refused(kind, factor, reason):
    machine = parse_machine(example_text(kind), kind)
    with pytest.raises(ProfileError, match=reason):
        require_possible(stretched(factor), machine, where="result")


@pytest.mark.parametrize("kind", ["lever", "cable"])
def test_an_ordinary_travel_passes(kind):
    require_possible(SOUND, parse_machine(example_text(kind), kind), where="result")


def test_a_travel_goes_either_way():
    lever = parse_machine(example_text("lever"), "lever")
    assert read_travel("-30 deg", lever) == pytest.approx(math.radians(-30.0))


@pytest.mark.parametrize(
    ("travel", "reason"),
    [("0 deg", "is no travel"), ("4000 deg", "goes round"), ("300 deg", "further than a person reaches")],
)
def test_a_travel_without_sense_is_refused_by_its_option(travel, reason):
    with pytest.raises(UsageError, match=reason) as caught:
        read_travel(travel, parse_machine(example_text("lever"), "lever"))
    assert str(caught.value).startswith("--travel: ")
