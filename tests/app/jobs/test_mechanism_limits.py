"""A travel that the machine does not have is refused, whatever the profile says of itself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from feltload.app.jobs.mechanism_limits import require_possible
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
        ("lever", 4.5, "would have moved by"),
        ("four-bar", 4.0, "cannot do|moved by"),
    ],
)
def test_a_travel_that_the_mechanism_lacks_is_refused(kind, factor, reason):
    machine = parse_machine(example_text(kind), kind)
    with pytest.raises(ProfileError, match=reason):
        require_possible(stretched(factor), machine, where="result")


@pytest.mark.parametrize("kind", ["lever", "cable"])
def test_an_ordinary_travel_passes(kind):
    require_possible(SOUND, parse_machine(example_text(kind), kind), where="result")
