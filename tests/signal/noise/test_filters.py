import numpy as np
import pytest

from feltload.signal.errors import SignalError
from feltload.signal.noise.filters import (
    derivative,
    lowpass,
    resample,
    two_pass_factor,
    uniform_times,
)
from published_data import published


def test_two_pass_factor_is_winters():
    # D. A. Winter, Biomechanics and Motor Control of Human Movement, two passes of a second-order filter.
    given = published("winter_two_pass")
    assert two_pass_factor(given["passes"]) == pytest.approx(given["factor"], abs=5e-4)
    assert two_pass_factor(2) == pytest.approx((2.0**0.5 - 1.0) ** 0.25, rel=1e-12)
    assert two_pass_factor(1) == 1.0


@pytest.mark.parametrize("rate_hz", [50.0, 100.0, 1000.0])
@pytest.mark.parametrize("frequency_hz", [1.0, 4.0, 6.0, 12.0])
def test_lowpass_has_the_stated_gain_and_no_phase(rate_hz, frequency_hz):
    time_s = np.arange(0.0, 40.0, 1.0 / rate_hz)
    middle = slice(len(time_s) // 4, 3 * len(time_s) // 4)
    wave = np.exp(2j * np.pi * frequency_hz * time_s)
    out = lowpass(wave.real, rate_hz, 6.0) + 1j * lowpass(wave.imag, rate_hz, 6.0)
    gain = np.mean((out * wave.conj())[middle])
    # Two passes of a second-order Butterworth filter, 1 / (1 + (f / fc)**4), with 1 / sqrt(2) at the stated cut-off;
    # the bilinear transform warps the frequencies (Oppenheim & Schafer, Discrete-Time Signal Processing).
    warped = np.tan(np.pi * frequency_hz / rate_hz) / np.tan(np.pi * 6.0 / rate_hz)
    expected = 1.0 / (1.0 + (np.sqrt(2.0) - 1.0) * warped**4)
    assert gain.real == pytest.approx(expected, abs=1e-6)
    assert abs(gain.imag) < 1e-6


def test_lowpass_commutes_with_a_linear_equation():
    # A relation between signals holds after filtering both sides, with any coefficients.
    rng = np.random.default_rng(1)
    a, b = rng.normal(size=(2, 500))
    left = lowpass(3.0 * a - 0.2 * b, 80.0, 6.0)
    right = 3.0 * lowpass(a, 80.0, 6.0) - 0.2 * lowpass(b, 80.0, 6.0)
    np.testing.assert_allclose(left, right, atol=1e-12)
    np.testing.assert_allclose(lowpass(np.stack([a, b], axis=1), 80.0, 6.0)[:, 1], lowpass(b, 80.0, 6.0))


@pytest.mark.parametrize("rate_hz", [50.0, 100.0, 833.0])
def test_derivative_of_a_movement(rate_hz):
    time_s = np.arange(0.0, 4.0, 1.0 / rate_hz)
    turn = 2 * np.pi * 1.5
    wave = np.sin(turn * time_s)
    np.testing.assert_allclose(derivative(wave, rate_hz), turn * np.cos(turn * time_s), atol=0.02 * turn)
    np.testing.assert_allclose(derivative(wave, rate_hz, order=2), -(turn**2) * wave, atol=0.08 * turn**2)
    quartic = time_s**4
    np.testing.assert_allclose(derivative(quartic, rate_hz), 4 * time_s**3, rtol=1e-6, atol=1e-6)


def test_resample_keeps_a_movement_and_marks_gaps():
    rng = np.random.default_rng(3)
    time_s = np.sort(np.arange(0.0, 10.0, 0.01) + rng.uniform(-0.002, 0.002, 1000))
    time_s = time_s[(time_s < 4.0) | (time_s > 4.5)]
    grid_s = uniform_times(0.1, 9.9, 100.0)
    out = resample(time_s, np.sin(3.0 * time_s), grid_s)
    clear = out.valid & ((grid_s < 3.9) | (grid_s > 4.6))
    np.testing.assert_allclose(out.values[clear], np.sin(3.0 * grid_s[clear]), atol=1e-5)
    assert not out.valid[(grid_s > 4.01) & (grid_s < 4.49)].any()
    assert np.abs(out.values).max() < 1.01


def test_resample_to_a_coarser_grid_does_not_alias():
    time_s = np.arange(0.0, 20.0, 0.001)
    out = resample(time_s, np.sin(2 * np.pi * 97.0 * time_s), uniform_times(0.0, 19.9, 100.0))
    assert np.abs(out.values[50:-50]).max() < 0.01


def test_bad_cutoff_is_one_clear_line():
    with pytest.raises(SignalError, match="must be positive"):
        lowpass([0.0, 1.0, 2.0, 3.0, 4.0], 100.0, -1.0)
