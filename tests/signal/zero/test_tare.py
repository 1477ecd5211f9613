import numpy as np
import pandas as pd
import pytest

from feltload.acquisition import Mark
from feltload.emulator import Person, scenario, scenario_names, simulate
from feltload.signal import find_tare
from feltload.signal.zero.facts import NoZero, ZeroFact

ZERO_N = -7.3


def session(seed, *, held_n=0.0, tremor_n=0.0, moving=False):
    """Four seconds at the start, then pulls between 100 and 260 N, then hands off."""
    rng = np.random.default_rng(seed)
    time_s, rate_s = np.arange(0, 30, 1 / 80), np.arange(0, 30, 1 / 100)
    pull = (time_s > 4) & (time_s < 27)
    held = held_n + tremor_n * np.convolve(rng.normal(size=time_s.size), np.ones(20) / 4.5, "same")
    force = ZERO_N + np.where(pull, 180 - 80 * np.cos(time_s - 4), np.where(time_s <= 4, held, 0.0))
    rate = np.where((rate_s > 4.3) & (rate_s < 27), np.sin(rate_s - 4.3), 0.0)
    if moving:
        rate[:430] = 0.3 * np.sin(6 * rate_s[:430])
    gyro = {
        f"gyro_{axis}_rad_s": rate * share + rng.normal(0, 0.003, rate_s.size)
        for axis, share in zip("xyz", (0.1, 0.9, 0.4), strict=True)
    }
    return (
        pd.DataFrame({"host_s": time_s, "force_n": force + rng.normal(0, 0.4, time_s.size)}),
        pd.DataFrame({"host_s": rate_s, **gyro}),
    )


@pytest.mark.parametrize("seed", range(8))
def test_marked_and_found(seed):
    force, inertial = session(seed)
    marked = find_tare(force, inertial, [Mark("tare", 0.5, 3.0), Mark("zero-after", 28.0, 30.0)])
    found = find_tare(force, inertial, [])
    assert (marked.source, found.source) == ("mark", "found")
    for tare in (marked, found):
        assert abs(tare.zero_n - ZERO_N) < 5 * max(tare.u_n, 0.02)
        assert tare.u_n < 0.1
    assert abs(marked.drift_n) < 0.3
    assert marked.warnings == ()


@pytest.mark.parametrize("seed", range(8))
def test_a_held_load_is_never_subtracted(seed):
    """A steady pull, released at the end; and one that a hand wanders with and never releases."""
    force, inertial = session(seed, held_n=60.0)
    assert find_tare(force, inertial, []).source == "none"
    force, inertial = session(seed, held_n=60.0, tremor_n=1.0)
    before = force["host_s"] < 26
    tare = find_tare(force[before], inertial[inertial["host_s"] < 26], [])
    assert tare.source == "none" and tare.zero_n == 0.0
    assert [fact.kind for fact in tare.warnings] == [ZeroFact.NOT_TARED]
    assert tare.u_n * np.sqrt(3) >= abs(ZERO_N + 50)


def test_movement_in_the_window():
    force, inertial = session(1, moving=True)
    before = force["host_s"] < 26
    assert find_tare(force[before], inertial[inertial["host_s"] < 26], []).source == "none"
    assert find_tare(force, inertial, []).window_s[0] > 27
    assert find_tare(force, inertial, [Mark("tare", 0.5, 3.0)]).warnings[0].kind == ZeroFact.MACHINE_MOVED


def over_the_pivot(seed, *, held_n=0.0, hand_n=0.0):
    """An arm of 120 N upright beyond 78 degrees of 103: the handle is held back there."""
    force, inertial = session(seed)
    time_s = force["host_s"].to_numpy()
    moving = (time_s > 4.3) & (time_s < 26.3)
    turned = np.where(moving, 0.9 * (1 - np.cos(2 * np.pi / 5.5 * (time_s - 4.3))), 0.0)
    hand = held_n + hand_n * np.convolve(
        np.random.default_rng(seed + 90).normal(size=time_s.size), np.ones(40) / 6.3, "same"
    )
    gripped = np.where(time_s <= 4.3, hand, np.where(moving, 120 * np.cos(turned + 0.2), 0.0))
    noise = np.random.default_rng(seed + 70).normal(0, 0.4, time_s.size)
    rate_s = inertial["host_s"].to_numpy()
    rate = np.where(
        (rate_s > 4.3) & (rate_s < 26.3),
        0.9 * 2 * np.pi / 5.5 * np.sin(2 * np.pi / 5.5 * (rate_s - 4.3)),
        0.0,
    )
    for axis, share in zip("xyz", (0.1, 0.9, 0.4), strict=True):
        inertial[f"gyro_{axis}_rad_s"] = share * rate + np.random.default_rng(seed).normal(
            0, 0.003, rate.size
        )
    return force.assign(force_n=ZERO_N + gripped + noise), inertial


@pytest.mark.parametrize("until", [30.0, 26.0])
@pytest.mark.parametrize("seed", range(6))
def test_plates_over_the_pivot(seed, until):
    """The force falls below its level at rest later on, by much: still hands off, with or without an end."""
    force, inertial = over_the_pivot(seed)
    tare = find_tare(force[force["host_s"] < until], inertial[inertial["host_s"] < until], [])
    assert tare.source == "found"
    assert abs(tare.zero_n - ZERO_N) < 5 * max(tare.u_n, 0.02)


@pytest.mark.parametrize("held_n", [30.0, 60.0])
@pytest.mark.parametrize("seed", range(6))
def test_held_at_the_start_with_plates_over_the_pivot(seed, held_n):
    """A hand at the start wanders by a hundredth of what it holds; nobody lets go before the end."""
    force, inertial = over_the_pivot(seed, held_n=held_n, hand_n=0.01 * held_n)
    tare = find_tare(force[force["host_s"] < 26], inertial[inertial["host_s"] < 26], [])
    assert (tare.source, tare.zero_n) == ("none", 0.0)
    assert tare.u_n * np.sqrt(3) >= abs(ZERO_N)


def test_a_weight_hung_on_at_both_ends():
    """As steady as hands off, and the same before and after: the slack close to the stop gives it away."""
    force, inertial = over_the_pivot(1)
    hung = (force["host_s"] < 4.0) | (force["host_s"] > 27.0)
    force["force_n"] += np.where(hung, 50.0, 0.0)
    tare = find_tare(force, inertial, [])
    assert tare.source == "none"
    assert tare.warnings[0].figures["reason"] == NoZero.FALLS_NEAR_STOP


def test_rest_at_the_end_only():
    """Recording begun in mid-session, the first seconds of it moving."""
    force, inertial = session(2)
    tare = find_tare(force[force["host_s"] > 6], inertial[inertial["host_s"] > 6], [])
    assert tare.source == "found" and tare.window_s[0] > 27 and tare.drift_n is None
    assert abs(tare.zero_n - ZERO_N) < 5 * max(tare.u_n, 0.02)


def test_drift_from_two_rests():
    force, inertial = session(3)
    force["force_n"] += 0.05 * force["host_s"]
    tare = find_tare(force, inertial, [])
    assert tare.drift_n == pytest.approx(0.05 * 26, abs=0.3)
    (drifted,) = [fact for fact in tare.warnings if fact.kind == ZeroFact.DRIFTED]
    assert drifted.figure("drift_n") == pytest.approx(tare.drift_n)


@pytest.mark.parametrize("seed", range(6))
def test_filtered_noise_is_no_hand(seed):
    """A sensor's own low-pass at 20 Hz leaves noise whose neighbours are alike."""
    rng = np.random.default_rng(seed)
    force, inertial = session(seed)
    fast = np.arange(0, 30, 1e-3)
    noise = np.convolve(rng.normal(0, 10.0, fast.size), np.exp(-np.arange(80) / 8.0) / 8.0, "same")
    slow = np.interp(
        fast, force["host_s"], np.where(force["host_s"].between(4, 27), force["force_n"], ZERO_N)
    )
    tare = find_tare(pd.DataFrame({"host_s": fast, "force_n": slow + noise}), inertial, [])
    assert tare.source == "found"
    assert abs(tare.zero_n - ZERO_N) < 5 * tare.u_n


def test_a_stuck_inertial_sensor_is_no_rest():
    force, inertial = session(4)
    gyro = [name for name in inertial if name.startswith("gyro")]
    inertial.loc[1000:1150, gyro] = inertial.loc[1000, gyro].to_numpy()
    assert find_tare(force, inertial, []).source == "found"


TARE = Mark("tare", 0.5, 3.0)


def rests_between(seed, *, held_n=0.0):
    """Two pulls, the arm set down and let go for two seconds, one more pull, and set down again at the end."""
    force, inertial = session(seed)
    rng = np.random.default_rng(seed + 40)

    def turned(time_s):
        first = np.clip(time_s - 4.0, 0.0, 4 * np.pi)
        third = np.clip(time_s - 6.0 - 4 * np.pi, 0.0, 2 * np.pi)
        return 0.5 * (1 - np.cos(first + third))

    time_s, rate_s = force["host_s"].to_numpy(), inertial["host_s"].to_numpy()
    pull = np.where(turned(time_s) > 1e-9, 100 + 160 * turned(time_s), np.where(time_s < 4.0, held_n, 0.0))
    rate = np.gradient(turned(rate_s), rate_s)
    for axis, share in zip("xyz", (0.1, 0.9, 0.4), strict=True):
        inertial[f"gyro_{axis}_rad_s"] = share * rate + rng.normal(0, 0.003, rate.size)
    return force.assign(force_n=ZERO_N + pull + rng.normal(0, 0.4, time_s.size)), inertial


@pytest.mark.parametrize("seed", range(6))
def test_a_load_held_steadily_in_the_marked_window_is_refused(seed):
    """Perfectly steady: only the rests on the stop later on, each at the same level far below, give it away."""
    force, inertial = rests_between(seed, held_n=60.0)
    tare = find_tare(force, inertial, [TARE])
    assert (tare.source, tare.zero_n) == ("none", 0.0)
    (doubt,) = tare.warnings
    assert doubt.figures["reason"] == NoZero.REST_FAR_BELOW
    assert doubt.figure("below_n") == pytest.approx(60.0, abs=1.0)
    assert tare.u_n * np.sqrt(3) >= abs(ZERO_N)
    honest = find_tare(*rests_between(seed), [TARE])
    assert honest.source == "mark" and honest.warnings == ()


def test_a_handle_that_hangs_on_the_cell_is_reported_not_refused():
    """Six newtons less once hands carry the handle: a right zero, if that is what it is."""
    force, inertial = rests_between(2, held_n=6.0)
    tare = find_tare(force, inertial, [TARE])
    assert tare.source == "mark"
    assert abs(tare.zero_n - (ZERO_N + 6.0)) < 0.3
    (doubt,) = tare.warnings
    assert doubt.kind == ZeroFact.REST_BELOW_ZERO
    assert doubt.figure("below_n") == pytest.approx(6.0, abs=0.6)


def test_two_marked_windows_that_contradict_each_other_are_no_drift():
    force, inertial = session(3, held_n=60.0)
    tare = find_tare(force, inertial, [TARE, Mark("zero-after", 28.0, 30.0)])
    assert tare.source == "none"
    (doubt,) = tare.warnings
    assert doubt.figures["reason"] == NoZero.WINDOWS_DIFFER
    # Less at the end: what was held was held at the start.
    assert doubt.figure("difference_n") == pytest.approx(-60.0, abs=3.0)


@pytest.mark.parametrize("name", scenario_names())
def test_marked_on_emulated_machines(name):
    """A zero that is right stays; with 60 N held it is refused wherever hands leave the handle later on."""
    person = Person(repetitions=5, letgo_share=0.5, touch_share=0.6)
    run = simulate(scenario(name, person=person), seed=4)
    mark = [Mark("tare", 0.3, 2.5)]
    right = find_tare(run.force, run.inertial, mark)
    assert (right.source, right.warnings) == ("mark", ())
    held = run.force.assign(force_n=run.force["force_n"] + 60.0 * (run.force["host_s"] < 2.9))
    assert find_tare(held, run.inertial, mark).source == "none"


def test_a_zero_that_no_rest_shows_is_as_uncertain_as_cells_are_sold():
    """Begun and ended in mid-movement; the load passes over the pivot, so the force passes zero in between."""
    force, inertial = over_the_pivot(1)
    moving = force["host_s"].between(7.0, 24.0), inertial["host_s"].between(7.0, 24.0)
    force = force[moving[0]]
    lowest_n = np.percentile(force["force_n"], 2.0)
    tare = find_tare(force.assign(force_n=force["force_n"] - lowest_n), inertial[moving[1]], [])
    assert (tare.source, tare.warnings[0].figures["reason"]) == ("none", NoZero.NO_WINDOW)
    # 2 % of the range; the lowest force, here nearly none, says nothing.
    assert tare.u_n >= 0.015 * np.ptp(force["force_n"])
