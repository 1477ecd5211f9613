"""Sentences about the difference of two profiles."""

from __future__ import annotations

import numpy as np

from feltload.app.text.machine.comparison import describe_difference
from feltload.coaching import CurveDifference
from feltload.signal import Travel


def test_a_difference_that_changes_sign_names_the_heavier_one_in_each_part() -> None:
    angle = np.radians(np.arange(0.0, 50.0))
    values = np.where(angle < 0.4, 6.0, np.where(angle > 0.6, -4.0, 0.5))
    values[5] = 9.0
    difference = CurveDifference(angle, values, 0.16 * np.eye(angle.size), 1.96)
    band = float(difference.curve_u95[0])
    travel = Travel(angle)
    said = describe_difference(
        difference, "With 40 kg", first="row", second="press", together="both", travel=travel, by="angle"
    )
    assert said == (
        f"With 40 kg, row is the heavier one from 0° to 22°, most at 5°: by 9.0 N (0.9 kgf), ± {band:.1f} N; press "
        f"is the heavier one from 35° to 49°, most at 35°: by 4.0 N (0.4 kgf), ± {band:.1f} N."
    )


def test_a_difference_within_its_band_is_not_stated_as_one() -> None:
    difference = CurveDifference(np.radians(np.arange(0.0, 20.0)), np.full(20, 0.4), np.eye(20), 2.0)
    words = describe_difference(
        difference,
        "With 20 kg",
        first="row",
        second="press",
        together="row and press",
        travel=Travel(difference.angle_rad),
    )
    assert "row and press differ by no more than the measurement can show" in words
    assert "heavier" not in words
