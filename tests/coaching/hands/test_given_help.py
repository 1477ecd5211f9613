"""When a partner has helped: over how much of the travel, out of which band, and where that band comes from."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.coaching import (
    DeliveredHelp,
    HalfRepetitionHelp,
    OverlapError,
    PersonMotion,
    Phase,
    delivered_help,
)
from feltload.coaching.hands.help_variance import friction_variance, scatter_between, session_variance
from lever_profile import lever_profile

ANGLE = np.deg2rad(np.arange(-25.0, 45.1, 1.0))


def _given(
    *help_n: np.ndarray, phase: Phase = Phase.CONCENTRIC, shared_n2: float = 1.0, scatter_n: float = 3.0**0.5
) -> DeliveredHelp:
    """Half-repetitions of one phase. Without more said, the band of a single one is 2 sqrt(1 + 3) = 4 N."""
    halves = tuple(HalfRepetitionHelp(k, phase, row) for k, row in enumerate(help_n))
    return DeliveredHelp(ANGLE, halves, np.full(ANGLE.size, shared_n2), scatter_n)


def _over(positions: int, force_n: float) -> np.ndarray:
    """Help at so many neighbouring degrees."""
    row = np.zeros(ANGLE.size)
    row[30 : 30 + positions] = force_n
    return row


@pytest.mark.parametrize(
    ("positions", "force_n", "helped"),
    [
        # One and a half bands of 4 N are 6 N.
        (6, 6.1, True),
        (6, 5.9, False),
        (6, -6.1, True),
        (6, -5.9, False),
        # Five degrees or more, not three; a hole ends the stretch.
        (3, 60.0, False),
        (4, 60.0, False),
        (5, 60.0, True),
    ],
)
def test_help_stands_out_of_its_band_over_five_degrees(positions, force_n, helped) -> None:
    assert _given(np.zeros(ANGLE.size), _over(positions, force_n)).helped == helped


def test_help_and_resistance_in_turn_are_no_stretch_of_either() -> None:
    swinging = _over(8, 60.0) * np.where(np.arange(ANGLE.size) % 2, 1.0, -1.0)
    assert not _given(swinging).helped
    broken = _over(8, 60.0)
    broken[34] = np.nan
    assert not _given(broken).helped


@pytest.mark.parametrize(("force_n", "helped"), [(4.9, False), (5.1, True)])
def test_less_than_a_hand_gives_on_purpose_is_no_help_however_small_the_band(force_n, helped) -> None:
    """A band of 0.2 N; a hand gives 5 N or more (common practice, no source)."""
    assert _given(_over(6, force_n), shared_n2=0.01, scatter_n=0.0).helped == helped


def test_mean_and_band_of_a_phase_by_hand() -> None:
    """Three half-repetitions, one of them absent at the last degree: 2 sqrt(1 + 3/3), 2 sqrt(1 + 3/2)."""
    rows = [np.full(ANGLE.size, value) for value in (3.0, 6.0, 12.0)]
    rows[2][-1] = np.nan
    given = _given(*rows, phase=Phase.ECCENTRIC)
    assert given.mean_n(Phase.ECCENTRIC)[[0, -1]] == pytest.approx([7.0, 4.5])
    assert given.u95_n(Phase.ECCENTRIC)[[0, -1]] == pytest.approx([2.0 * 2.0**0.5, 2.0 * 2.5**0.5])
    assert given.half_repetition_u95_n == pytest.approx(np.full(ANGLE.size, 4.0))
    assert np.isnan(given.mean_n(Phase.CONCENTRIC)).all() and np.isnan(given.u95_n(Phase.CONCENTRIC)).all()
    assert given.half_repetitions[2].mean_n == pytest.approx(12.0)
    assert _given(rows[0]).u95_n(Phase.CONCENTRIC) == pytest.approx(np.full(ANGLE.size, 4.0))
    assert given.to_frame()["eccentric_u95_n"].iloc[0] == pytest.approx(2.0 * 2.0**0.5)


def test_band_where_hands_come_on_is_that_of_the_mean_or_of_one_half() -> None:
    """10 N taken off at 5°, with noise of 3 N: 3.5 (10 - 2 x 3) N for one half, with 2 x 3 / sqrt(4) for the mean."""
    taken_off = np.where(np.arange(71) == 30, 10.0, 0.0)
    halves = tuple(HalfRepetitionHelp(k, Phase.CONCENTRIC, np.full(71, 20.0), taken_off) for k in range(4))
    given = DeliveredHelp(ANGLE, halves, np.full(71, 4.0), 3.0, smoothing_scatter_n=3.0)
    # Elsewhere 2 sqrt(4 + 9) N for one half, 2 sqrt(4 + 9/4) = 5 N for the mean.
    assert given.u95_of(halves[0])[[30, 50]] == pytest.approx(
        [np.hypot(14.0, 2.0 * 13.0**0.5), 2.0 * 13.0**0.5]
    )
    assert given.u95_n(Phase.CONCENTRIC)[[30, 50]] == pytest.approx([np.hypot(24.5, 5.0), 5.0])
    # Within 2° of where it was taken off.
    assert np.flatnonzero(given.u95_n(Phase.CONCENTRIC) > 6.0).tolist() == [28, 29, 30, 31, 32]


@pytest.mark.parametrize("per_phase", [4, 12])
def test_scatter_of_half_repetitions_is_their_standard_deviation(per_phase) -> None:
    """Normal values of 3 N about levels that differ by phase and position; the median of four takes a tenth off."""
    generator = np.random.default_rng(7)
    level = {Phase.CONCENTRIC: 40.0 * ANGLE, Phase.ECCENTRIC: np.full(ANGLE.size, -20.0)}
    halves = [
        HalfRepetitionHelp(k, phase, level[phase] + generator.normal(0.0, 3.0, ANGLE.size))
        for phase in Phase
        for k in range(per_phase)
    ]
    assert scatter_between(halves) == pytest.approx(3.0 if per_phase == 12 else 2.7, rel=0.05)
    # One odd repetition of many makes no difference.
    odd = [*halves[:-1], replace(halves[-1], help_n=halves[-1].help_n + 500.0)]
    if per_phase == 12:
        assert scatter_between(odd) == pytest.approx(3.0, rel=0.15)
    # Two at a position do not tell.
    assert scatter_between([*halves[:2], *halves[-2:]]) == 0.0


def test_scatter_of_three_by_hand() -> None:
    """0, 3 and 0 N: off the median by 0, 3 sqrt(3/2) and 0 N; the 0.7 quantile lies in the greatest third."""
    rows = [np.full(ANGLE.size, value) for value in (0.0, 3.0, 0.0)]
    halves = [HalfRepetitionHelp(k, Phase.ECCENTRIC, row) for k, row in enumerate(rows)]
    assert scatter_between(halves) == pytest.approx(3.0 * 1.5**0.5 / 1.0364)


def test_variances_of_a_session_by_hand() -> None:
    """Static force, slope times angle, zero and lag; friction from three half-repetitions each way."""
    profile = lever_profile(u_n=1.5)
    # Friction and inertia that change along the travel are no part of how the static force changes with the angle.
    model = replace(
        profile.model,
        friction_n=6.0 + 40.0 * profile.angle_rad,
        inertia_n_per_rad_s2=6.0 + 40.0 * profile.angle_rad,
    )
    counts = np.full((2, 71), 3)
    profile = replace(profile, model=model, raising_count=counts, lowering_count=counts)
    none = np.zeros(2)
    motion = PersonMotion(
        np.arange(2.0), none, none, none, none, (), u_zero_n=0.4, u_lag_n=1.2, u_angle_rad=0.01
    )
    found = session_variance(profile, 40.0, motion)
    angle = profile.angle_rad[10]
    slope = -(9.0 * 0.38 + 40.0 * 0.30) * 9.80665 / 0.65 * np.sin(angle)
    assert found[10] == pytest.approx(1.5**2 + (0.01 * slope) ** 2 + 0.4**2 + 1.2**2, rel=1e-3)
    assert friction_variance(profile, 3.0) == pytest.approx(np.full(profile.angle_rad.size, 9.0 / 6.0))
    # Where half of one half-repetition went, on the mean of the loads, it scatters as one does.
    hardly = replace(profile, raising_count=np.array([[1] * 71, [0] * 71]), lowering_count=0 * counts)
    assert friction_variance(hardly, 3.0) == pytest.approx(np.full(profile.angle_rad.size, 9.0))


def _session(jitter_n: float, travel_deg: float = 68.0) -> DeliveredHelp:
    """Eight repetitions without help, each half with an error of its own, on a profile that scattered by 0.4 N."""
    profile = lever_profile()
    profile = replace(profile, health=replace(profile.health, residual_n=0.4))
    part = np.arange(250) / 250.0
    smooth = 10 * part**3 - 15 * part**4 + 6 * part**5
    low = float(np.deg2rad(-24.0))
    up = low + np.deg2rad(travel_deg) * smooth
    rest = np.full(50, low)
    angle = np.concatenate([rest, *[np.concatenate([up, up[::-1], rest])] * 8])
    time = np.arange(angle.size) / 100.0
    rate = np.gradient(angle, 0.01)
    accel = np.gradient(rate, 0.01)
    errors = jitter_n * np.random.default_rng(11).standard_normal((8, 2))
    times = tuple((0.5 + 5.5 * k, 3.0 + 5.5 * k, 5.5 + 5.5 * k) for k in range(8))
    force = profile.force_n(angle, rate, accel, 40.0)
    for (start, turn, end), (rising, falling) in zip(times, errors, strict=True):
        force = force + rising * ((time >= start) & (time < turn)) + falling * ((time >= turn) & (time < end))
    return delivered_help(profile, PersonMotion(time, angle, rate, accel, force, times), 40.0)


def test_the_scatter_is_taken_from_the_session_itself() -> None:
    """Errors of 2 N between half-repetitions make the band, and are not treated as help."""
    given = _session(2.0)
    assert given.scatter_n == pytest.approx(2.0, rel=0.2)
    assert not given.helped
    # Shared by all: 0.5 N of the profile, and friction from six half-repetitions each way that scatter as these do.
    assert given.shared_variance_n2 == pytest.approx(np.full(71, 0.25 + given.scatter_n**2 / 12.0))


@pytest.mark.parametrize(("travel_deg", "enough"), [(9.5, False), (10.5, True)])
def test_a_session_goes_through_ten_degrees(travel_deg, enough) -> None:
    if enough:
        assert len(_session(0.0, travel_deg).half_repetitions) == 16
    else:
        with pytest.raises(OverlapError, match="hardly moves"):
            _session(0.0, travel_deg)


def test_a_quiet_session_scatters_as_the_profile_did() -> None:
    """Never less than the residual of the profile's own movements."""
    given = _session(0.0)
    assert given.scatter_n == pytest.approx(0.4, abs=0.01)
