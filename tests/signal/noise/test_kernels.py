"""Filters on numpy alone give what scipy.signal, the reference library, gives."""

import numpy as np
import pytest
import scipy.signal

from feltload.signal.noise.kernels import derivative_kernels, highpass, lowpass_kernel


@pytest.mark.parametrize(("half", "cutoff", "beta"), [(10, 0.2, 6.0), (40, 0.05, 4.0)])
def test_lowpass_kernel_is_the_reference_librarys(half, cutoff, beta):
    reference = scipy.signal.firwin(2 * half + 1, cutoff, window=("kaiser", beta))
    np.testing.assert_allclose(lowpass_kernel(half, cutoff, beta=beta), reference, atol=1e-15)


@pytest.mark.parametrize("order", [1, 2])
@pytest.mark.parametrize("half", [2, 3, 7, 20])
def test_derivative_kernels_are_the_reference_librarys(half, order):
    width = 2 * half + 1
    degree = min(4, width - 1)
    reference = np.stack(
        [scipy.signal.savgol_coeffs(width, degree, deriv=order, pos=at, use="dot") for at in range(width)]
    )
    np.testing.assert_allclose(
        derivative_kernels(half, degree, order), reference, atol=1e-9 * np.abs(reference).max()
    )


@pytest.mark.parametrize(("rate_hz", "cutoff_hz"), [(80.0, 4.4), (1000.0, 8.8)])
def test_highpass_is_the_reference_librarys_away_from_the_ends(rate_hz, cutoff_hz):
    values = 200.0 + np.cumsum(np.random.default_rng(3).normal(size=6000))
    sections = scipy.signal.butter(3, cutoff_hz, "highpass", fs=rate_hz, output="sos")
    reference = scipy.signal.sosfiltfilt(sections, values)
    away = int(5.0 * rate_hz / cutoff_hz)
    found = highpass(values, rate_hz, cutoff_hz)
    np.testing.assert_allclose(found[away:-away], reference[away:-away], atol=1e-6 * np.abs(reference).max())
    assert np.abs(highpass(np.full(300, 7.0), rate_hz, cutoff_hz)).max() < 1e-10
