import allantools
import numpy as np
import pytest

from feltload.calibration.inertial.allan import noise_coefficients, overlapping_allan
from feltload.signal.errors import SignalError
from published_data import published


def thousand_points(first, multiplier, modulus):
    numbers = [first]
    while len(numbers) < 1000:
        numbers.append(multiplier * numbers[-1] % modulus)
    return np.array(numbers) / modulus


def test_nine_point_set_of_nist_sp_1065():
    case = published("sp_1065_nine")
    out = overlapping_allan(case["values"], 1.0, case["factors"])
    np.testing.assert_allclose(out.deviation, case["overlapping_allan"], rtol=1e-7)


def test_thousand_point_set_of_nist_sp_1065():
    case = published("sp_1065_thousand")
    values = thousand_points(case["first"], case["multiplier"], case["modulus"])
    out = overlapping_allan(values, 1.0, case["factors"])
    np.testing.assert_allclose(out.deviation, case["overlapping_allan"], rtol=2e-7)


def test_same_as_allantools_on_a_long_record():
    values = np.random.default_rng(4).normal(size=4000).cumsum() * 0.01
    out = overlapping_allan(values, 50.0)
    tau, deviation, _, pairs = allantools.oadev(values, rate=50.0, data_type="freq", taus=out.tau_s)
    np.testing.assert_allclose(out.tau_s, tau)
    np.testing.assert_allclose(out.deviation, deviation, rtol=1e-9)
    np.testing.assert_array_equal(out.pairs, pairs)


def test_white_density_and_rate_walk_are_recovered():
    # IEEE Std 952: white noise of density N gives N / sqrt(tau), a rate walk K gives K sqrt(tau / 3).
    rng = np.random.default_rng(5)
    rate, seconds, density, walk = 100.0, 2000.0, 1.2e-4, 3e-5
    count = int(rate * seconds)
    values = density * np.sqrt(rate) * rng.normal(size=count)
    values += walk / np.sqrt(rate) * rng.normal(size=count).cumsum()
    found = noise_coefficients(overlapping_allan(values, rate))
    assert found.white_density == pytest.approx(density, rel=0.1)
    assert found.rate_walk == pytest.approx(walk, rel=0.4)


def test_floor_of_flicker_noise_gives_the_bias_instability():
    """Flicker of a known spectrum, made of every harmonic of a long record: S(f) = B^2 / (pi f), one-sided."""
    given = published("flicker_floor")
    bias, rate, count = 2.5e-3, 50.0, 1 << 18
    frequency = np.fft.rfftfreq(count, 1.0 / rate)[1:]
    density = bias**2 / (np.pi * frequency)
    phase = np.random.default_rng(6).uniform(0.0, 2.0 * np.pi, frequency.size)
    harmonics = np.sqrt(2.0 * density * rate / count) * np.exp(1j * phase)
    values = np.fft.irfft(np.concatenate([[0.0], harmonics * count / 2.0]), count)
    # Shorter than 5 samples the noise is not sampled finely enough, beyond a fiftieth of the record not slowly enough.
    allan = overlapping_allan(values, rate, np.unique(np.geomspace(5, count // 50, 25).astype(int)))
    np.testing.assert_allclose(allan.deviation**2, given["variance_over_h"] * bias**2 / np.pi, rtol=0.06)
    np.testing.assert_allclose(allan.deviation, given["floor_over_b"] * bias, rtol=0.03)
    assert noise_coefficients(allan).bias_instability == pytest.approx(bias, rel=0.03)


def test_too_short_is_one_clear_line():
    with pytest.raises(SignalError, match="three samples"):
        overlapping_allan([1.0, 2.0], 1.0)
