"""Capacity from holds, repetitions and tables, against persons whose strength is known."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from feltload.coaching import (
    CapacityError,
    CapacityFact,
    Hold,
    capacity_from_holds,
    capacity_from_repetitions,
    capacity_from_table,
    find_holds,
)


def _true_n(angle_rad: np.ndarray) -> np.ndarray:
    """An invented person with most to give with the arms long."""
    return 520.0 - 190.0 * (np.asarray(angle_rad) + 0.4) ** 1.0


def _hold_session(
    positions_deg: list[float], *, seed: int = 0, moving_deg: float = 0.0
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    generator = np.random.default_rng(seed)
    step = 0.01
    angle, force = [], []
    for position in positions_deg:
        push = np.deg2rad(position) + np.linspace(0, np.deg2rad(moving_deg), 400)
        rise = np.minimum(np.arange(400) * step / 0.8, 1.0)
        tremor = 4.0 * np.sin(2 * np.pi * 7 * np.arange(400) * step + generator.uniform(0, 6))
        level = float(_true_n(np.array(np.deg2rad(position)))) * generator.normal(1.0, 0.01)
        angle += [np.full(300, np.deg2rad(position)), push]
        force += [np.zeros(300), rise * level * (1 - 0.02 * np.arange(400) * step) + rise * tremor]
    a, f = np.concatenate(angle), np.concatenate(force)
    return np.arange(a.size) * step, a, f + generator.normal(0, 0.5, f.size)


def test_holds_are_found_with_their_best_steady_second() -> None:
    time, angle, force = _hold_session([-20, 0, 20, 40])
    holds, left_out = find_holds(time, angle, force)
    assert [round(np.rad2deg(h.angle_rad)) for h in holds] == [-20, 0, 20, 40]
    assert [h.order for h in holds] == [1, 2, 3, 4]
    assert left_out == ()
    for hold in holds:
        assert hold.force_n == pytest.approx(float(_true_n(np.array(hold.angle_rad))), rel=0.04)


def test_a_hold_with_the_lever_moving_is_left_out_and_named() -> None:
    time, angle, force = _hold_session([-20, 0, 20], moving_deg=12.0)
    with pytest.raises(CapacityError, match=r"effort at \d+\.\d s is no hold: the lever moved \d"):
        find_holds(time, angle, force)


def test_an_effort_that_moved_is_left_out_beside_good_holds() -> None:
    still = _hold_session([-20, 0, 20])
    moved = _hold_session([35], moving_deg=12.0)
    time = np.concatenate([still[0], still[0][-1] + 0.01 + moved[0]])
    holds, left_out = find_holds(
        time, np.concatenate([still[1], moved[1]]), np.concatenate([still[2], moved[2]])
    )
    assert len(holds) == 3
    (fact,) = left_out
    assert fact.kind == CapacityFact.HOLD_MOVED
    # 12 degrees in the 4 s of the effort: 3 degrees in a second.
    assert np.rad2deg(fact.figure("movement_rad")) == pytest.approx(3.0, abs=0.1)
    assert fact.span_s is not None and fact.span_s[0] > still[0][-1]


def test_band_covers_the_persons_strength_between_the_positions() -> None:
    """Coverage over invented persons: 95 % bands should hold the truth about 95 % of the time."""
    inside = []
    for seed in range(60):
        generator = np.random.default_rng(seed)
        degrees = np.array([-20.0, -2.0, 18.0, 40.0])
        holds = [
            Hold(
                np.deg2rad(d), float(_true_n(np.deg2rad(d)) * generator.normal(1, 0.05)), 1.0, 0.0, i + 1, 0.0
            )
            for i, d in enumerate(degrees)
        ]
        curve = capacity_from_holds(holds)
        inside.append(np.abs(curve.force_n - _true_n(curve.angle_rad)) <= curve.u95_n)
    assert 0.88 <= float(np.mean(inside)) <= 1.0


def test_two_positions_say_what_cannot_be_said() -> None:
    holds = [Hold(0.0, 400.0, 1, 0, 1, 0), Hold(0.5, 300.0, 1, 9, 2, 0)]
    with pytest.raises(CapacityError, match=r"2 position.*cannot be determined"):
        capacity_from_holds(holds)


def test_painful_positions_are_never_used() -> None:
    holds = [Hold(np.deg2rad(d), 400.0, 1, 0, i, 0) for i, d in enumerate((-20, 0, 20, 40), start=1)]
    curve = capacity_from_holds(holds, painful=[(np.deg2rad(35), np.deg2rad(60))])
    assert np.rad2deg(curve.angle_rad[-1]) == pytest.approx(20)
    (unused,) = [fact for fact in curve.warnings if fact.kind == CapacityFact.PAINFUL_HOLDS_UNUSED]
    assert unused.figure("count") == 1


def test_fatigue_between_tries_is_noted() -> None:
    holds = [
        Hold(np.deg2rad(d), 400.0 * (0.9 if again else 1.0), 1, 0, 3 * again + i, 0)
        for again in (0, 1)
        for i, d in enumerate((-20, 0, 20), start=1)
    ]
    assert CapacityFact.LATER_TRIES_WEAKER in [fact.kind for fact in capacity_from_holds(holds).warnings]
    rested = [Hold(np.deg2rad(d), 400.0, 1, 0, i, 0) for i, d in enumerate((-20, 0, 20, -20, 0, 20), start=1)]
    assert capacity_from_holds(rested).warnings == ()


def test_envelope_of_slow_repetitions() -> None:
    angle = np.deg2rad(np.linspace(-20, 40, 200))
    curve = capacity_from_repetitions([angle, angle, angle], [_true_n(angle) * k for k in (0.97, 1.0, 0.98)])
    assert curve.force_n == pytest.approx(_true_n(curve.angle_rad), rel=1e-6)
    with pytest.raises(CapacityError, match="no spread"):
        capacity_from_repetitions([angle], [_true_n(angle)])


def test_nothing_outside_what_was_measured() -> None:
    angle = np.deg2rad(np.linspace(-20, 40, 200))
    curve = capacity_from_repetitions([angle, angle], [_true_n(angle), _true_n(angle)])
    assert np.isnan(curve.at(np.deg2rad(41.0))[0]).all()


def test_a_table_is_read_as_it_is_written(tmp_path: Path) -> None:
    """In any order of angles; 5 % of the force where no uncertainty is given (common practice, no source)."""
    path = tmp_path / "capacity.csv"
    path.write_text("angle_deg,force_n,u_n\n20,300,\n-10,400,8\n50,250,1\n")
    curve = capacity_from_table(path)
    assert np.rad2deg(curve.angle_rad) == pytest.approx([-10.0, 20.0, 50.0])
    assert curve.force_n == pytest.approx([400.0, 300.0, 250.0])
    assert curve.covariance_n2 == pytest.approx(np.diag([64.0, 225.0, 1.0]))
    path.write_text("angle_deg,force_n\n0,100\n10,200\n20,300\n")
    assert capacity_from_table(path).u95_n == pytest.approx([10.0, 20.0, 30.0])
    with pytest.raises(CapacityError, match="no such file"):
        capacity_from_table(tmp_path / "another.csv")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("angle_deg\n1\n", "force_n is missing"),
        ("angle_deg,force_n\n1,2\n2,3\n", "fewer than three"),
        ("angle_deg,force_n\n1,2\nx,3\n3,4\n", "row 3"),
        ("angle_deg,force_n\n1,2\n1,3\n3,4\n", "duplicate angle"),
        ("angle_deg,force_n\n1,2\n2,-3\n3,4\n", "row 3 holds a force of zero or below"),
        ("angle_deg,force_n\n1,2\n2,3\n3,0\n", "row 4 holds a force of zero or below"),
        ("angle_deg,force_n,u_n\n1,2,1\n2,3,0\n3,4,1\n", "row 3 holds a force or an uncertainty"),
        ("angle_deg,force_n,u_n\n1,2,1\n2,3,1\n3,4,20001\n", "row 4 holds a force or an uncertainty"),
        ("angle_deg,force_n\n1,2\n2,20001\n3,4\n", "row 3 holds a force or an uncertainty"),
        ("angle_deg,force_n\n1,2\n2,nan\n3,4\n", "row 3 holds something that is not a number"),
        ("angle_deg,force_n\n-180,2\n2,19000\n181,4\n", "more than a turn"),
    ],
)
def test_a_bad_table_is_one_clear_line(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "capacity.csv"
    path.write_text(text)
    with pytest.raises(CapacityError, match=message) as caught:
        capacity_from_table(path)
    assert "capacity.csv" in str(caught.value)
    assert "\n" not in str(caught.value)
