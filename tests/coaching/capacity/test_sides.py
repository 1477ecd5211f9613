"""Left against right, with a band that agrees with draws."""

from __future__ import annotations

from dataclasses import replace

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


def test_the_greatest_difference_is_one_that_is_certain() -> None:
    """Right 20 % weaker at -10° where it is known to 1 %, and 50 % weaker at 20° where it is known to 40 %."""
    left = made_capacity(-20.0, 30.0, force_n=(400.0, 400.0), u=0.01)
    force, u = np.full(51, 400.0), np.full(51, 4.0)
    force[10], force[40], u[40] = 320.0, 200.0, 80.0
    right = replace(left, force_n=force, covariance_n2=np.diag(u**2))
    compared = compare_capacity_sides(left, right)
    assert compared.difference[[10, 40]] == pytest.approx([-80.0 / 360.0, -200.0 / 300.0])
    # 2 hypot(320 x 4, 400 x 4) / 360² and 2 hypot(200 x 4, 400 x 80) / 300².
    assert compared.u95[[10, 40]] == pytest.approx([0.031620, 0.711333], abs=1e-6)
    assert compared.greatest == 10


@pytest.mark.parametrize(("high_deg", "positions"), [(24.4, 5), (25.4, 4)])
def test_sides_are_compared_at_five_positions_or_more_that_do_not_hurt(high_deg, positions) -> None:
    """From -20° to 30° all hurts up to here, on the left below 0° and on the right above it."""
    left = _curve(400.0, "left").marked([tuple(np.deg2rad([-21.0, 0.1]))])
    right = _curve(340.0, "right").marked(
        [tuple(np.deg2rad([0.2, high_deg])), tuple(np.deg2rad([29.6, 31.0]))]
    )
    if positions == 5:
        compared = compare_capacity_sides(left, right)
        assert np.rad2deg(compared.angle_rad) == pytest.approx([25.0, 26.0, 27.0, 28.0, 29.0])
        assert len(compared.painful_rad) == 3
    else:
        with pytest.raises(OverlapError, match="licensed clinician") as refused:
            compare_capacity_sides(left, right)
        assert "hurts on neither side" in str(refused.value)


def test_sides_that_share_no_travel_are_refused() -> None:
    with pytest.raises(OverlapError, match="less than 10°"):
        compare_capacity_sides(made_capacity(-20.0, 10.0), made_capacity(5.0, 40.0))
