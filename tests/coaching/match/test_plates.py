"""Plates at hand: the greatest load that they make, never above what was computed."""

from __future__ import annotations

from itertools import product

import pytest

from feltload.coaching import CoachingError, Plates

KG = Plates((250, 500, 1000), 1.0)


@pytest.mark.parametrize(
    ("load", "made"), [(0.0, 0.0), (2.4, 0.0), (2.5, 2.5), (31.9, 30.0), (32.5, 32.5), (39.99, 37.5)]
)
def test_a_load_is_rounded_down_to_what_the_plates_make(load: float, made: float) -> None:
    assert KG.up_to(load) == made


def test_every_combination_counts_not_the_largest_plate_first() -> None:
    assert Plates((400, 600), 1.0).up_to(8.9) == 8.0
    sizes = (7, 11)
    for load in range(60):
        best = max(7 * a + 11 * b for a, b in product(range(10), repeat=2) if 7 * a + 11 * b <= load)
        assert Plates(tuple(100 * size for size in sizes), 1.0).up_to(load) == best


def test_no_machine_is_loaded_with_more_than_3000() -> None:
    """Kilograms or pounds: common practice, no source."""
    assert [Plates((2500,), 1.0).up_to(load) for load in (2999.0, 1e9)] == [2975.0, 3000.0]


def test_less_than_the_smallest_plate_is_nothing() -> None:
    assert [Plates((1,), 1.0).up_to(load) for load in (-1.0, 0.0, 0.009, 0.01)] == [0.0, 0.0, 0.0, 0.01]


def test_pounds_stay_pounds() -> None:
    pound = 0.45359237
    assert Plates((500, 1000, 2500), pound).up_to(36.3) == pytest.approx(80 * pound)


def test_plates_have_a_size() -> None:
    with pytest.raises(CoachingError, match="no plates are given"):
        Plates((), 1.0)
    with pytest.raises(CoachingError, match="no plates are given"):
        Plates((500, 0), 1.0)
