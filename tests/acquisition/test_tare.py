import numpy as np
import pandas as pd
import pytest

from feltload.acquisition import Mark, find_tare

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
    assert "not tared" in tare.warnings[0]
    assert tare.u_n * np.sqrt(3) >= abs(ZERO_N + 50)


def test_movement_in_the_window():
    force, inertial = session(1, moving=True)
    assert find_tare(force, inertial, []).source == "none"
    assert "moved" in find_tare(force, inertial, [Mark("tare", 0.5, 3.0)]).warnings[0]
