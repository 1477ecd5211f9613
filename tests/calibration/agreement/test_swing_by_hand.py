"""A free swing worked by hand: steady swings of known period, and an arm that is a point on a rod."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.calibration import Machine, parse_machine
from feltload.calibration.agreement.swing import Swing, check_swing, measure_swing
from feltload.calibration.errors import AgreementError
from published_data import published

REST = np.radians(-20.0)
(RATIO,) = (
    ratio
    for degrees, ratio in zip(
        published("pendulum")["amplitude_deg"], published("pendulum")["ratio"], strict=True
    )
    if degrees == 30
)


def _steady(
    half_periods_s: list[float], degrees: float = 30.0, late_s: float = 0.0017
) -> tuple[np.ndarray, np.ndarray]:
    """A swing about -20° that crosses its rest after each of these times, and goes on for 0.4 s on either side.

    Samples are 5 ms apart and lie so much beside the crossings.
    """
    crossings = np.cumsum([0.0, *half_periods_s])
    time = np.arange(-0.4, crossings[-1] + 0.4, 0.005) + late_s
    phase = np.pi * np.interp(time, crossings, np.arange(crossings.size), left=np.nan, right=np.nan)
    outside = np.pi * np.where(
        time < 0.0,
        time / half_periods_s[0],
        crossings.size - 1.0 + (time - crossings[-1]) / half_periods_s[-1],
    )
    return time, REST + np.radians(degrees) * np.sin(np.where(np.isnan(phase), outside, phase))


@pytest.mark.parametrize("late_s", [0.0, 0.0017])
def test_a_steady_swing_by_its_period_and_amplitude(late_s: float) -> None:
    """Crossings 1 s apart at 30°: a period of 2 s, of 2 s / 1.0174088 at small amplitude.

    Samples lie on turning points and crossings, or beside them. The first and the last crossing have no turning point
    beyond them: of eleven, nine make seven periods.
    """
    swing = measure_swing(*_steady([1.0] * 10, late_s=late_s))
    assert swing.moment_over_inertia == pytest.approx((np.pi * RATIO) ** 2, rel=1e-5)
    assert swing.u < 1e-4 * swing.moment_over_inertia
    assert swing.rest_rad == pytest.approx(REST, abs=1e-5)
    assert swing.amplitude_rad == pytest.approx(np.radians(30.0), rel=1e-4)
    assert swing.periods == 7


def test_scatter_of_the_periods_is_its_uncertainty() -> None:
    """Crossings 1 s apart, then 1.1 s: full periods of 2, 2, 2, 2.1, 2.2, 2.2 and 2.2 s; half of the seven count.

    Mean 14.7 / 7 = 2.1 s, mean square of the deviations 6 x 0.01 / 7; u of a square of a frequency is twice as large.
    """
    swing = measure_swing(*_steady([1.0] * 5 + [1.1] * 5))
    period = 2.1 / RATIO
    assert swing.moment_over_inertia == pytest.approx((2.0 * np.pi / period) ** 2, rel=1e-4)
    u_period = np.sqrt(0.06 / 7.0) / RATIO / np.sqrt(3.5)
    assert swing.u == pytest.approx(2.0 * swing.moment_over_inertia * u_period / period, rel=1e-3)


@pytest.mark.parametrize(
    ("half_periods", "complaint"), [(6, "has 2 periods"), (5, "has 2 periods"), (1, "has 0 periods")]
)
def test_fewer_than_three_periods_are_refused(half_periods: int, complaint: str) -> None:
    with pytest.raises(AgreementError, match=complaint):
        measure_swing(*_steady([1.0] * half_periods))


def test_three_periods_are_enough() -> None:
    assert measure_swing(*_steady([1.0] * 8)).periods >= 3


@pytest.mark.parametrize(("degrees", "enough"), [(0.98, False), (1.02, True)])
def test_a_swing_of_a_degree_is_enough(degrees: float, enough: bool) -> None:
    made = _steady([1.0] * 10, degrees)
    if enough:
        assert measure_swing(*made).periods == 7
        return
    with pytest.raises(AgreementError, match="smaller than 1°"):
        measure_swing(*made)


def _rod(angle_deg: float, radius: str = "500 +/- 5 mm") -> Machine:
    """A point of 3 kg half a metre from the pivot, at an angle where the arm stands at its start stop."""
    return parse_machine(f"""
name = "rod (invented)"
mechanism = "lever"
start_angle = "{angle_deg} +/- 0 deg"
[lever]
handle_radius = "600 +/- 0 mm"
hinge_inclination = "0 +/- 0 deg"
[[lever.mass]]
name = "bob"
mass = "3.0 +/- 0.1 kg"
radius = "{radius}"
angle = "{angle_deg} +/- 1 deg"
""")


@pytest.mark.parametrize("angle_deg", [-60.0, -120.0, 60.0])
def test_a_point_on_a_rod_swings_with_g_over_its_length(angle_deg: float) -> None:
    """10 m/s² / 0.5 m = 20 1/s², whatever it weighs and wherever it stands; 10 / 0.505 is 0.198 less.

    Gravity good to 1 % makes 0.2 of its own.
    """
    check = check_swing(Swing(20.4, 0.3, 0.0, 0.5, 8), _rod(angle_deg), g_m_s2=10.0, u_g_m_s2=0.1)
    assert check.predicted == pytest.approx(20.0, rel=1e-6)
    assert check.u_predicted == pytest.approx(np.hypot(20.0 - 10.0 / 0.505, 0.2), rel=1e-4)
    assert check.en == pytest.approx(0.4 / (2.0 * np.hypot(0.3, check.u_predicted)), rel=1e-4)
