"""Difference of two profiles: exact where it is known, its band against an uncertainty library and against draws."""

from __future__ import annotations

from dataclasses import replace

import GTC
import numpy as np
import pytest

from feltload.coaching import OverlapError, profile_difference
from feltload.emulator import scenario, simulate
from feltload.signal import BudgetItem, BudgetSource, ForceUncertainty, Reference, Session, estimate
from lever_profile import lever_profile


def test_a_peg_further_round_shows_where_it_is_heavier():
    first, second = lever_profile(peg_deg=10.0), lever_profile(peg_deg=0.0, low_deg=-20.5, high_deg=40.5)
    found = profile_difference(first, second)
    angle = np.radians(np.arange(-20.0, 41.0))
    assert found.angle_rad == pytest.approx(angle)
    slope = 9.80665 * 0.30 / 0.65 * (np.cos(angle + np.radians(10.0)) - np.cos(angle))
    # The second is interpolated linearly between whole degrees.
    assert found.difference_n == pytest.approx(np.array([[20.0], [40.0]]) * slope, abs=0.03)
    assert found.mean_n == pytest.approx(found.difference_n.mean(axis=1))


def test_band_agrees_with_an_uncertainty_library():
    # Reference: GTC (Hall, GUM Tree Calculator), two forces that share the gain of one cell.
    first, second = (lever_profile(loads_kg=(40.0,), peg_deg=peg) for peg in (0.0, 12.0))

    def with_gain(profile, own_u):
        gain = BudgetItem(BudgetSource.FORCE_GAIN, 0.01 * profile.static_n)
        own = own_u**2 * np.eye(profile.static_n.size)
        covariance = np.outer(gain.curve_n, gain.curve_n) + own
        u = np.sqrt(np.diag(covariance)).reshape(profile.static_n.shape)
        return replace(profile, budget=(gain,), covariance_n2=covariance, static_u95_n=1.96 * u)

    one, other = with_gain(first, 0.4), with_gain(second, 0.7)
    found = profile_difference(one, other, common_sources=(BudgetSource.FORCE_GAIN,))
    apart = profile_difference(one, other)
    for k in (0, 35, 70):
        gain, other_gain = GTC.ureal(1.0, 0.01), GTC.ureal(1.0, 0.01)
        left = gain * float(one.static_n[0, k]) + GTC.ureal(0.0, 0.4)
        right = float(other.static_n[0, k])
        shared = left - (gain * right + GTC.ureal(0.0, 0.7))
        separate = left - (other_gain * right + GTC.ureal(0.0, 0.7))
        assert found.u95_n[0, k] == pytest.approx(1.96 * shared.u, rel=1e-6)
        assert apart.u95_n[0, k] == pytest.approx(1.96 * separate.u, rel=1e-6)
    assert np.all(found.u95_n < apart.u95_n)


def test_two_sessions_of_one_machine_differ_by_no_more_than_their_band():
    def measured(seed):
        run = simulate(scenario("lever-row", tempo="mixed"), seed=seed)
        force = run.force
        rest = force["force_n"].to_numpy()[force["host_s"].to_numpy() < 2.0]
        session = Session(
            name="a", force=force.assign(force_n=force["force_n"] - rest.mean()), inertial=run.inertial,
            load_kg=40.0, tare_window_s=(0.0, 2.0),
            force_uncertainty=ForceUncertainty(gain=0.0, zero_n=0.1, gain_stated=True, zero_stated=True),
        )  # fmt: skip
        return estimate([session], reference=Reference("a", run.start_angle_rad, 0.0))

    shares = [
        1.0 - np.mean(profile_difference(measured(seed), measured(100 + seed)).significant)
        for seed in range(5)
    ]
    assert np.mean(shares) > 0.9
    heavier = measured(7)
    heavier = replace(heavier, static_n=heavier.static_n + 4.0)
    assert np.all(profile_difference(heavier, measured(107)).significant)


def test_band_of_a_whole_curve_holds_it_in_nineteen_of_twenty_cases():
    """Two profiles whose errors are independent from angle to angle, drawn often: a hard case for a band by angle."""
    rng = np.random.default_rng(3)
    made = lever_profile(loads_kg=(40.0,))
    covariance = 0.25 * np.eye(made.static_n.size)
    made = replace(made, covariance_n2=covariance, static_u95_n=np.full_like(made.static_n, 0.98))
    somewhere, established = [], []
    for _ in range(200):
        pair = [
            replace(made, static_n=made.static_n + rng.normal(0.0, 0.5, made.static_n.shape))
            for _ in range(2)
        ]
        found = profile_difference(*pair)
        somewhere.append(found.significant.any())
        established.append(found.established.any())
    assert np.mean(somewhere) > 0.8
    # Five in a hundred, within three standard deviations of 200 draws.
    assert np.mean(established) == pytest.approx(0.05, abs=3 * np.sqrt(0.05 * 0.95 / 200))


def test_band_of_a_curve_that_moves_as_one_is_that_of_an_angle():
    made = lever_profile(loads_kg=(40.0,))
    found = profile_difference(made, made)
    assert found.curve_u95_n == pytest.approx(found.u95_n, rel=0.03)


def test_angles_that_one_load_does_not_cover_are_left_out():
    first, second = lever_profile(), lever_profile(peg_deg=5.0)
    gaps = second.static_n.copy()
    gaps[1, :12] = np.nan
    found = profile_difference(first, replace(second, static_n=gaps))
    whole = profile_difference(first, second)
    assert found.angle_rad.size < whole.angle_rad.size
    kept = np.isin(whole.angle_rad, found.angle_rad)
    assert found.difference_n == pytest.approx(whole.difference_n[:, kept])
    assert np.isfinite(found.curve_u95_n).all()
    with pytest.raises(OverlapError, match="angles in common"):
        profile_difference(first, replace(second, static_n=np.full_like(gaps, np.nan)))


def test_what_cannot_be_compared_is_said():
    with pytest.raises(
        OverlapError, match=r"no load was measured in both \(20 kg in one, 40 kg in the other\)"
    ):
        profile_difference(lever_profile(loads_kg=(20.0,)), lever_profile(loads_kg=(40.0,)))
    with pytest.raises(OverlapError, match="less than 5° of travel"):
        profile_difference(lever_profile(high_deg=0.0), lever_profile(low_deg=-2.0))


@pytest.mark.parametrize(("alike", "divided"), [(True, 1.0), (False, 71.0**0.5)])
def test_band_of_the_mean_by_hand(alike, divided):
    """0.5 N and 1.2 N at k = 2, which is 2.6 N for the difference: errors alike along the travel, or independent."""
    first, second = (
        replace(
            made := lever_profile(u_n=u_n),
            covariance_n2=made.covariance_n2 if alike else u_n**2 * np.eye(made.static_n.size),
        )
        for u_n in (0.5, 1.2)
    )
    found = profile_difference(first, second)
    assert found.u95_n == pytest.approx(np.full((2, 71), 2.6))
    assert found.mean_u95_n == pytest.approx(np.full(2, 2.6 / divided))


def test_difference_at_one_of_the_loads():
    """With a variance of its own for each load and angle."""
    first, second = (
        lever_profile(loads_kg=(20.0, 30.0, 40.0), peg_deg=10.0),
        lever_profile(loads_kg=(20.0, 40.0)),
    )
    first = replace(first, covariance_n2=np.diag(np.repeat([1.0, 2.0, 3.0], 71)))
    second = replace(second, covariance_n2=np.zeros_like(second.covariance_n2))
    found = profile_difference(first, second)
    assert found.loads_kg == pytest.approx([20.0, 40.0])
    heavier = found.at_loads([40.0004, 30.0])
    assert heavier.loads_kg == pytest.approx([40.0])
    assert heavier.difference_n == pytest.approx(found.difference_n[1:])
    assert np.diag(heavier.covariance_n2) == pytest.approx(np.full(71, 3.0))
    assert heavier.curve_u95_n == pytest.approx(found.curve_u95_n[1:])
    frame = found.to_frame()
    assert frame["load_kg"].tolist() == [20.0] * 71 + [40.0] * 71
    assert frame["u95_n"].to_numpy() == pytest.approx(found.u95_n.ravel())


def test_a_difference_is_related_to_the_largest_force_of_the_two():
    """9 kg at 0.38 m and 40 kg at 0.30 m on a handle at 0.65 m, horizontal: 232.6 N; the other one has 20 kg on."""
    whole, light = lever_profile(), lever_profile(loads_kg=(20.0,))
    greatest = (9.0 * 0.38 + 40.0 * 0.30) * 9.80665 / 0.65
    assert profile_difference(whole, light).reference_n == pytest.approx(greatest)
    assert profile_difference(light, whole).reference_n == pytest.approx(greatest)


@pytest.mark.parametrize(("shared_deg", "enough"), [(5, True), (4, False)])
def test_two_profiles_share_five_degrees(shared_deg, enough):
    first, second = lever_profile(high_deg=0.0), lever_profile(low_deg=-shared_deg - 0.05)
    if enough:
        assert np.rad2deg(profile_difference(first, second).angle_rad[[0, -1]]) == pytest.approx([-5.0, 0.0])
    else:
        with pytest.raises(OverlapError, match="less than 5° of travel"):
            profile_difference(first, second)
