import json
from pathlib import Path

import allantools
import numpy as np
import pytest

from feltload.calibration.inertial.allan import noise_coefficients, overlapping_allan
from feltload.signal.errors import SignalError

PUBLISHED = json.loads((Path(__file__).parents[2] / "published" / "nist-sp-1065-allan.json").read_text())


def thousand_points():
    numbers = [1234567890]
    while len(numbers) < 1000:
        numbers.append(16807 * numbers[-1] % 2147483647)
    return np.array(numbers) / 2147483647


def test_nine_point_set_of_nist_sp_1065():
    case = PUBLISHED["nine_points"]
    out = overlapping_allan(case["values"], 1.0, case["factors"])
    np.testing.assert_allclose(out.deviation, case["overlapping_allan"], rtol=1e-7)


def test_thousand_point_set_of_nist_sp_1065():
    case = PUBLISHED["thousand_points"]
    out = overlapping_allan(thousand_points(), 1.0, case["factors"])
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
    assert found.bias_instability > 0.0


def test_too_short_is_one_clear_line():
    with pytest.raises(SignalError, match="three samples"):
        overlapping_allan([1.0, 2.0], 1.0)
