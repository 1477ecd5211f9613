"""Guided load-cell session: stillness, order of loads, doubts; pure logic against made readings."""

import numpy as np
import pytest

from feltload.calibration.errors import OverloadError, ReadingsError
from feltload.calibration.force.plan import LoadStep, plan_steps
from feltload.calibration.force.readings import parse_readings
from feltload.calibration.force.readings_rows import READINGS_COLUMNS, readings_row, taken_readings
from feltload.calibration.force.session import ForceSession, ForceSessionFact, TakenReading
from feltload.calibration.force.steadiness import judge
from feltload.core.quantities import parse_quantity

RATE = 80.0
TIME = np.arange(0, 6, 1 / RATE)
PER_KG = 8300.0
ZERO = 12000.0


def masses(*texts):
    return [parse_quantity(text, "mass") for text in texts]


WEIGHTS = masses("20 kg", "5 kg", "10.000(0.001) kg", "15 kg", "25 kg")


def counts(rng, level, noise=3.0):
    return np.round(level + rng.normal(0, noise, len(TIME)))


def test_noise_alone_is_still():
    # At the first moment it is judged; it is looked at several times, so a rare miss only costs a moment.
    still = [
        judge(TIME, counts(np.random.default_rng(seed), 95000), tolerance=16.0).state for seed in range(200)
    ]
    assert still.count("stable") >= 199
    bare = [
        judge(TIME, counts(np.random.default_rng(seed), 12000), tolerance=0.0).state for seed in range(200)
    ]
    assert bare.count("stable") >= 195


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize(
    ("shape", "state"),
    [
        (lambda t: 200 * np.sin(2 * np.pi * t), "unstable"),
        (lambda t: 60 * np.sin(2 * np.pi * 0.5 * t), "unstable"),
        (lambda t: 30.0 * t, "drifting"),
        (lambda t: 2000 * np.exp(-t / 1.5), "drifting"),
        (lambda t: -2000 * np.exp(-t / 1.5), "drifting"),
        (lambda t: np.where(t > 4.5, 300.0, 0.0), ("unstable", "drifting")),
    ],
)
def test_what_moves_is_named(seed, shape, state):
    got = judge(TIME, counts(np.random.default_rng(seed), 95000) + shape(TIME), tolerance=16.0)
    assert got.state in ((state,) if isinstance(state, str) else state)


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize(("spreads", "state"), [(2.4, "stable"), (3.7, "unstable")])
def test_a_swing_is_seen_from_three_times_the_noise_on(seed, spreads, state):
    # White noise of 10 counts and a swing that brings the spread about the line to this many of it.
    swing = 10.0 * (2.0 * (spreads**2 - 1.0)) ** 0.5 * np.cos(2 * np.pi * TIME)
    made = counts(np.random.default_rng(seed), 95000.0, noise=10.0) + swing
    assert judge(TIME, made, tolerance=0.0).state == state


@pytest.mark.parametrize(("spread", "stable"), [(38.0, True), (44.0, False)])
def test_an_empty_cell_is_judged_by_the_largest_deflection(spread, stable):
    """A swing after 25 kg hung, 207 500 counts: 2e-4 of that is 41.5 counts."""
    session = ForceSession(plan_steps(WEIGHTS, rated_capacity_n=2000.0))
    run(session, np.random.default_rng(1), upto=10)
    assert session.step.mass is None
    made = ZERO + spread * 2**0.5 * np.cos(2 * np.pi * TIME)
    assert session.feed(TIME, made).stable == stable


@pytest.mark.parametrize(("spread", "stable"), [(7.6, True), (9.0, False)])
def test_a_weight_is_judged_by_its_own_deflection_from_the_zero(spread, stable):
    """5 kg, 41 500 counts over a zero of a million: 2e-4 of that is 8.3 counts."""
    session = ForceSession(plan_steps(WEIGHTS, rated_capacity_n=2000.0))
    session.feed(TIME, np.full(len(TIME), 1e6))
    session.take()
    made = 1e6 + 5.0 * PER_KG + spread * 2**0.5 * np.cos(2 * np.pi * TIME)
    assert session.feed(TIME, made).stable == stable


def test_a_converter_without_noise_is_still():
    assert judge(TIME, np.full(len(TIME), 5.0), tolerance=0.0).state == "stable"
    assert judge(TIME[:100], np.full(100, 5.0), tolerance=0.0).state == "waiting"


def test_plan_goes_up_and_down_in_every_position():
    steps = plan_steps(WEIGHTS, rated_capacity_n=2000.0, positions_deg=(0.0, 120.0))
    assert [step.mass_kg for step in steps[:11]] == [0, 5, 10, 15, 20, 25, 20, 15, 10, 5, 0]
    assert [step.direction for step in steps[:11]] == ["rising"] * 6 + ["falling"] * 5
    assert {(step.series, step.position_deg) for step in steps} == {(1, 0.0), (2, 120.0)}


def test_overload_is_refused_before_anything_is_hung():
    with pytest.raises(
        OverloadError, match=r"25 kg is 245 N on a cell rated 200 N: do not hang it.*keep clear"
    ):
        plan_steps(WEIGHTS, rated_capacity_n=200.0)
    with pytest.raises(OverloadError, match="rated capacity of the cell is not stated"):
        plan_steps(WEIGHTS, rated_capacity_n=None)
    with pytest.raises(ReadingsError, match="4 weights are too few"):
        plan_steps(WEIGHTS[:4], rated_capacity_n=2000.0)
    with pytest.raises(ReadingsError, match="named once"):
        plan_steps([*WEIGHTS, WEIGHTS[0]], rated_capacity_n=2000.0)


def test_a_weight_of_nothing_is_none_and_the_rated_capacity_may_be_hung():
    for nothing in ("0 kg", "-5 kg"):
        with pytest.raises(ReadingsError, match="weights must be above zero"):
            plan_steps([*WEIGHTS, *masses(nothing)], rated_capacity_n=2000.0)
    # 25 kg by standard gravity.
    assert len(plan_steps(WEIGHTS, rated_capacity_n=25 * 9.80665)) == 33
    with pytest.raises(OverloadError):
        plan_steps(WEIGHTS, rated_capacity_n=25 * 9.80664)


def run(session, rng, upto=None, wrong=None):
    """Hang what is asked; every weight swings and settles first. Rows written."""
    rows, start = [], 0.0
    while session.step is not None and len(session.taken) != upto:
        kg = session.step.mass_kg if len(session.taken) != wrong else 3.0
        swing = 0.01 * PER_KG * kg * np.exp(-TIME / 0.8) * np.sin(2 * np.pi * 1.1 * TIME)
        values = counts(rng, ZERO + PER_KG * kg) + swing
        session.begin()
        for i in range(0, len(TIME), 16):
            progress = session.feed(start + TIME[i : i + 16], values[i : i + 16])
            if progress.stable:
                break
        if progress.doubt is not None:
            return rows, progress
        assert progress.stable
        rows.append(readings_row(session.take(), "counts"))
        start += 20.0
    return rows, None


def test_a_session_writes_a_readings_file_and_goes_on_with_it():
    steps = plan_steps(WEIGHTS, rated_capacity_n=2000.0, positions_deg=(0.0, 0.0, 120.0))
    rng = np.random.default_rng(4)
    first, _ = run(ForceSession(steps), rng, upto=8)
    head = "# serial: T-1\n" + ",".join(READINGS_COLUMNS) + "\n"
    session = ForceSession(steps, taken_readings(parse_readings(head + "".join(first))))
    assert session.step == steps[8]
    second, _ = run(session, rng)
    readings = parse_readings(head + "".join(first + second))
    assert session.step is None
    assert len(readings) == len(steps) == 33
    assert readings.load == pytest.approx([step.mass_kg for step in steps])
    assert np.nanmax(readings.load_u) == pytest.approx(0.001)
    # Scatter of a mean of 240 readings is some 0.2 counts.
    assert readings.reading == pytest.approx(ZERO + PER_KG * readings.load, abs=30)
    assert np.std(readings.reading - ZERO - PER_KG * readings.load) < 8
    other = plan_steps(masses("1 kg", "2 kg", "3 kg", "4 kg", "5 kg"), rated_capacity_n=2000.0)
    with pytest.raises(ReadingsError, match="reading 2 on file is not the step planned"):
        ForceSession(other, session.taken)


@pytest.mark.parametrize(
    ("unit", "reading", "spread", "samples", "written"),
    [
        # A mean of 240 readings that scatter by 3 is known to 0.19; one of 16 that scatter by 40 to 10.
        ("counts", 12000.1234, 3.0, 240, "12000.1"),
        ("counts", 12000.1234, 40.0, 16, "12000"),
        ("counts", 12000.1234, 0.5, 1, "12000.1"),
        # A converter that never moves shows whole counts, and hundred-thousandths of a mV/V.
        ("counts", 12000.1234, 0.0, 240, "12000"),
        ("mV/V", 0.123456789, 0.0, 240, "0.12346 mV/V"),
        ("mV/V", 0.123456789, 1e-3, 4, "0.12346 mV/V"),
        ("mV/V", 0.123456789, 3e-6, 4, "0.123457 mV/V"),
        # Never finer than a billionth of the reading, and of a mV/V.
        ("counts", 50000.123456, 1e-9, 1, "50000.12346"),
        ("mV/V", -0.5, 1e-12, 1, "-0.500000000 mV/V"),
        ("counts", 0.0, 1e-12, 1, "0.000000000"),
    ],
)
def test_a_reading_is_written_to_the_digits_that_it_is_known_to(unit, reading, spread, samples, written):
    (mass,) = masses("10.000(0.001) kg")
    taken = TakenReading(LoadStep(2, "falling", 120.0, mass), reading, spread, samples, 12.345)
    assert readings_row(taken, unit) == f"2,falling,120,10.000(0.001) kg,{written},12.3\n"
    empty = TakenReading(LoadStep(1, "rising", None, None), reading, spread, samples, 0.0)
    assert readings_row(empty, unit) == f"1,rising,,0,{written},0.0\n"


def test_readings_come_back_from_their_file():
    """How they scattered is not in the file; each counts as one."""
    readings = parse_readings(",".join(READINGS_COLUMNS) + "\n1,rising,,0,7.5,0.5\n1,rising,120,10 kg,90,3\n")
    empty, loaded = taken_readings(readings)
    assert empty == TakenReading(LoadStep(1, "rising", None, None), 7.5, 0.0, 1, 0.5)
    assert loaded == TakenReading(LoadStep(1, "rising", 120.0, loaded.step.mass), 90.0, 0.0, 1, 3.0)
    assert loaded.step.mass_kg == 10.0


def test_another_weight_than_named_is_doubted():
    steps = plan_steps(WEIGHTS, rated_capacity_n=2000.0)
    _, progress = run(ForceSession(steps), np.random.default_rng(1), wrong=3)
    assert progress.doubt.kind is ForceSessionFact.ANOTHER_WEIGHT
    assert progress.doubt.figure("seems_kg") == pytest.approx(3.0, abs=0.05)
    assert progress.doubt.figures["asked"] == "15 kg"
    session = ForceSession(steps)
    run(session, np.random.default_rng(1), upto=1)
    progress = session.feed(TIME, counts(np.random.default_rng(2), ZERO))
    assert progress.doubt.kind is ForceSessionFact.NOT_FELT


@pytest.mark.parametrize(("off", "doubted"), [(0.028, False), (-0.028, False), (0.032, True), (-0.032, True)])
def test_a_weight_is_doubted_beyond_three_percent_of_itself(off, doubted):
    session = ForceSession(plan_steps(WEIGHTS, rated_capacity_n=2000.0))
    run(session, np.random.default_rng(1), upto=3)
    assert session.step.mass_kg == 15.0
    made = counts(np.random.default_rng(2), ZERO + PER_KG * 15.0 * (1.0 + off))
    progress = session.feed(TIME, made)
    assert progress.stable and (progress.doubt is not None) == doubted


@pytest.mark.parametrize(("left_kg", "doubted"), [(0.028, False), (0.032, True)])
def test_an_empty_cell_is_doubted_beyond_three_percent_of_a_tenth_of_the_heaviest(left_kg, doubted):
    """Of 10 kg that hung before: 0.03 kg still on it."""
    session = ForceSession(
        plan_steps(masses("1 kg", "2 kg", "4 kg", "7 kg", "10 kg"), rated_capacity_n=2000.0)
    )
    run(session, np.random.default_rng(1), upto=10)
    assert session.step.mass is None
    progress = session.feed(TIME, counts(np.random.default_rng(2), ZERO + PER_KG * left_kg))
    assert progress.stable and (progress.doubt is not None) == doubted


@pytest.mark.parametrize(("seconds", "long"), [(29.0, False), (31.0, True)])
def test_half_a_minute_without_rest_is_long(seconds, long):
    session = ForceSession(plan_steps(WEIGHTS, rated_capacity_n=2000.0))
    time = np.arange(0.0, seconds + 0.001, 0.1)
    assert session.feed(time, 500.0 * time).waited_long == long


def test_a_stable_reading_is_the_mean_of_its_window():
    """Three seconds at 80 a second; before that the weight was still on its way."""
    session = ForceSession(plan_steps(WEIGHTS, rated_capacity_n=2000.0))
    made = counts(np.random.default_rng(2), ZERO)
    made[TIME < 2.5] += 5000.0
    assert session.feed(TIME, made).stable
    taken = session.take()
    late = TIME[-1] - 3.0 < TIME
    assert taken.reading == pytest.approx(made[late].mean())
    assert taken.samples == late.sum() == 240
    assert taken.spread == pytest.approx(made[late].std(ddof=2), rel=1e-2)
    assert taken.time_s == TIME[-1]


@pytest.mark.parametrize("window_s", [0.4, 61.0])
def test_a_window_that_judges_nothing_is_refused(window_s):
    with pytest.raises(ReadingsError, match=r"0\.5 to 60 s"):
        ForceSession(plan_steps(WEIGHTS, rated_capacity_n=2000.0), window_s=window_s)


def test_more_readings_on_file_than_steps_are_refused():
    steps = plan_steps(WEIGHTS, rated_capacity_n=2000.0, positions_deg=(0.0,))
    session = ForceSession(steps)
    run(session, np.random.default_rng(4))
    with pytest.raises(ReadingsError, match="11 readings on file, 10 steps planned"):
        ForceSession(steps[:-1], session.taken)


def test_the_cell_is_turned_before_each_position_and_not_between():
    steps = plan_steps(WEIGHTS, rated_capacity_n=2000.0, positions_deg=(0.0, 0.0, 120.0))
    session, turns = ForceSession(steps), []
    while session.step is not None:
        turns.append(session.turn_to_deg)
        session.begin()
        session.feed(TIME, counts(np.random.default_rng(2), ZERO + PER_KG * session.step.mass_kg))
        session.take()
    assert {k: turn for k, turn in enumerate(turns) if turn is not None} == {0: 0.0, 22: 120.0}
    assert session.turn_to_deg is None


def test_nothing_unstable_is_taken_unless_said_so():
    session = ForceSession(plan_steps(WEIGHTS, rated_capacity_n=2000.0))
    session.feed(TIME[:20], np.full(20, 1.0))
    with pytest.raises(ReadingsError, match="not stable"):
        session.take(although_moving=True)
    session.begin()
    late = session.feed(TIME + 40 * (TIME > 1), 500.0 * TIME)
    assert late.steadiness.state == "drifting"
    with pytest.raises(ReadingsError, match="not stable"):
        session.take()
    assert session.take(although_moving=True).reading > 0


def test_a_sample_from_the_weight_before_is_not_let_in() -> None:
    """One stale sample among still ones moves the mean by far more than the noise: not stable until it is gone."""
    time = np.arange(80) / 80.0
    reading = 28600.0 + np.random.default_rng(3).normal(0, 4, 80)
    reading[5] = 45200.0
    early = judge(time[:50], reading[:50], tolerance=20.0, window_s=0.6)
    assert early.state != "stable"
    late = judge(time, reading, tolerance=20.0, window_s=0.6)
    assert late.state == "stable"
    assert abs(late.mean - 28600.0) < 3.0
