"""A profile written down by hand: the force it gives, and its table."""

from __future__ import annotations

import numpy as np
import pytest

from built_estimate import built_estimate
from feltload.signal.errors import ProfileError
from feltload.signal.profile.force_model import ForceModel
from feltload.signal.regression.rows import SIGN_RATE_RAD_S

ANGLE_RAD = np.array([0.1, 0.3, 0.5])
PAIR = np.array([[100.0, 120.0, 110.0], [180.0, 220.0, 200.0]])


def model(*, loads_differ):
    per_kg = 1.0 if loads_differ else 0.0
    return ForceModel(
        static_n=np.array([20.0, 30.0, 40.0]),
        static_n_per_kg=per_kg * np.array([4.0, 5.0, 4.0]),
        friction_n=np.array([3.0, 3.0, 3.0]),
        friction_n_per_kg=per_kg * np.array([0.1, 0.1, 0.1]),
        inertia_n_per_rad_s2=np.array([2.0, 2.0, 2.0]),
        inertia_n_per_rad_s2_per_kg=per_kg * np.array([0.05, 0.05, 0.05]),
        speed_n_per_rad2_s2=np.array([0.4, 0.4, 0.4]),
        speed_n_per_rad2_s2_per_kg=per_kg * np.array([0.01, 0.01, 0.01]),
        viscous_n_per_rad_s=1.5,
        loads_differ=loads_differ,
    )


def test_force_at_a_motion_and_load_by_hand():
    made = built_estimate(ANGLE_RAD, PAIR, (20.0, 40.0), model=model(loads_differ=True))
    # Half way between 0.1 and 0.3 rad, 30 kg: static 25 + 30 x 4.5, friction 3 + 3, viscous 1.5 x 2,
    # inertia (2 + 1.5) x -3, squared rate (0.4 + 0.3) x 4.
    expected = 160.0 + 6.0 * np.tanh(2.0 / SIGN_RATE_RAD_S) + 3.0 - 10.5 + 2.8
    assert made.force_n(0.2, 2.0, -3.0, 30.0) == pytest.approx(expected)
    assert made.force_n([0.1, 0.5], load_kg=0.0) == pytest.approx([20.0, 40.0])
    # Lowering, friction and the viscous part turn round.
    expected = 160.0 - 6.0 * np.tanh(2.0 / SIGN_RATE_RAD_S) - 3.0 + 2.8
    assert made.force_n(0.2, -2.0, load_kg=30.0) == pytest.approx(expected)
    assert np.isnan(made.force_n([0.09, 0.51], load_kg=30.0)).all()
    with pytest.raises(ProfileError, match="name the load"):
        made.force_n(0.2)


def test_force_of_the_one_load_measured():
    made = built_estimate(ANGLE_RAD, PAIR[0], (40.0,), model=model(loads_differ=False))
    assert made.force_n(0.2) == made.force_n(0.2, load_kg=40.0) == pytest.approx(25.0)
    assert made.force_n(0.2, load_kg=40.00002) == pytest.approx(25.0)
    with pytest.raises(ProfileError, match=r"only 40 kg was measured, 40\.001 kg cannot be predicted"):
        made.force_n(0.2, load_kg=40.001)


def test_table_of_one_load_and_of_two():
    friction = np.full((2, 3), 5.0)
    made = built_estimate(ANGLE_RAD, PAIR, (20.0, 40.0), friction_n=friction)
    table = made.to_frame()
    assert table.index.tolist() == list(range(6))
    assert table["load_kg"].tolist() == [20.0] * 3 + [40.0] * 3
    assert table["angle_deg"].tolist() == pytest.approx(2 * [5.729578, 17.188734, 28.64789])
    assert table["travel_percent"].tolist() == pytest.approx(2 * [0.0, 50.0, 100.0])
    assert table["raising_n"].tolist() == [105.0, 125.0, 115.0, 185.0, 225.0, 205.0]
    assert table["lowering_n"].tolist() == [95.0, 115.0, 105.0, 175.0, 215.0, 195.0]
    one = built_estimate(ANGLE_RAD, PAIR[0], handle_path_m=np.array([0.0, 0.13, 0.26]))
    assert one.to_frame()["handle_travel_mm"].tolist() == pytest.approx([0.0, 130.0, 260.0])
    assert "load_kg" not in one.to_frame()
    assert (one.lag, one.viscous_n_per_rad_s) == (one.lags[0], 1.5)
    assert one.inertia_n_per_rad_s2.tolist() == [6.0, 6.0, 6.0]
