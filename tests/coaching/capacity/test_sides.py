"""Left against right, with a band that agrees with draws."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.coaching import CapacityCurve, OverlapError, compare_capacity_sides
from made_capacity import made_capacity


def _curve(force_n: float, side: str) -> CapacityCurve:
    return made_capacity(-20.0, 30.0, force_n=(1.2 * force_n, 0.8 * force_n), u=0.03, side=side)


def test_sides_are_compared_against_what_was_measured() -> None:
    weaker = compare_capacity_sides(_curve(400.0, "left"), _curve(340.0, "right"))
    assert weaker.mean == pytest.approx(-60.0 / 370.0, rel=1e-6)
    assert weaker.differs and weaker.greatest is not None
    alike = compare_capacity_sides(_curve(400.0, "left"), _curve(400.5, "right"))
    assert not alike.differs and alike.greatest is None


def test_band_of_the_sides_agrees_with_draws() -> None:
    left, right = _curve(400.0, "left"), _curve(340.0, "right")
    compared = compare_capacity_sides(left, right)
    generator = np.random.default_rng(5)
    a = left.force_n * (1 + 0.03 * generator.standard_normal((4000, left.force_n.size)))
    b = right.force_n * (1 + 0.03 * generator.standard_normal((4000, left.force_n.size)))
    drawn = (b - a) / (0.5 * (a + b))
    assert compared.u95 == pytest.approx(2 * drawn.std(axis=0), rel=0.06)
    assert compared.mean_u95 == pytest.approx(2 * drawn.mean(axis=1).std(), rel=0.06)
    assert compared.to_frame()["u95"].to_numpy() == pytest.approx(compared.u95)


def test_sides_that_share_no_travel_are_refused() -> None:
    with pytest.raises(OverlapError, match="less than 10°"):
        compare_capacity_sides(made_capacity(-20.0, 10.0), made_capacity(5.0, 40.0))
