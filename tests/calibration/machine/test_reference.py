"""What a machine file says of the handle's travel reaches the estimate."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.calibration import parse_machine, reference_of

LEVER = """
name = "invented lever"
mechanism = "lever"
start_angle = "-30 deg"
[lever]
handle_radius = "640 mm"
{pull}
[[lever.mass]]
name = "plates"
mass = "load"
radius = "300 mm"
angle = "-14 deg"
"""


def test_square_pull_has_a_travel_that_does_not_vary():
    reference = reference_of(parse_machine(LEVER.format(pull="")))
    assert reference.handle_radius_m == pytest.approx(0.64)
    assert reference.handle_travel.share(np.linspace(0.0, 1.2, 7)) == pytest.approx(np.ones(7))


@pytest.mark.parametrize(("line", "stated"), [("", False), ('hinge_inclination = "0 deg"', True)])
def test_a_level_hinge_that_is_stated_is_not_one_that_is_assumed(line: str, stated: bool) -> None:
    reference = reference_of(parse_machine(LEVER.format(pull=line)))
    assert reference.hinge_inclination_rad == 0.0
    assert reference.hinge_inclination_stated is stated


def test_fixed_line_of_pull_varies_as_the_sine_and_is_read_as_far_as_it_goes():
    # The line is square to the lever 26 degrees after the start; 116 degrees after it lies along the lever.
    reference = reference_of(parse_machine(LEVER.format(pull='pull_direction = "86 deg"')))
    assert reference.handle_radius_m is None
    q = np.radians(np.array([0.0, 26.0, 60.0]))
    share = reference.handle_travel.share(q)
    assert share / share[1] == pytest.approx(np.sin(np.radians(116.0) - q), rel=1e-4)
    assert np.degrees(reference.handle_travel.q_rad[-1]) == pytest.approx(115.0)
