"""Sentences about the difference of two profiles."""

from __future__ import annotations

import numpy as np

from feltload.app.text.machine.comparison import describe_difference
from feltload.coaching import ProfileDifference
from feltload.signal import Travel


def test_a_difference_that_changes_sign_names_the_heavier_one_in_each_part() -> None:
    angle = np.radians(np.arange(0.0, 50.0))
    values = np.where(angle < 0.4, 6.0, np.where(angle > 0.6, -4.0, 0.5))[None, :]
    values[0, 5] = 9.0
    difference = ProfileDifference(
        angle_rad=angle,
        loads_kg=np.array([40.0]),
        difference_n=values,
        covariance_n2=np.eye(angle.size),
        coverage=1.0,
        curve_widening=np.array([1.3]),
        reference_n=200.0,
    )
    travel = Travel(angle)
    said = describe_difference(
        difference, 0, first="row", second="press", together="both", travel=travel, by="angle"
    )
    assert said == (
        "With 40 kg, row is the heavier one from 0° to 22°, most at 5°: by 9.0 N (0.9 kgf), ± 1.3 N; press is the "
        "heavier one from 35° to 49°, most at 35°: by 4.0 N (0.4 kgf), ± 1.3 N."
    )


def test_a_difference_within_its_band_is_not_stated_as_one() -> None:
    difference = ProfileDifference(
        angle_rad=np.radians(np.arange(0.0, 20.0)),
        loads_kg=np.array([20.0]),
        difference_n=np.full((1, 20), 0.4),
        covariance_n2=np.eye(20),
        coverage=2.0,
        curve_widening=np.array([1.2]),
        reference_n=100.0,
    )
    words = describe_difference(
        difference,
        0,
        first="row",
        second="press",
        together="row and press",
        travel=Travel(difference.angle_rad),
    )
    assert "row and press differ by no more than the measurement can show" in words
    assert "heavier" not in words
