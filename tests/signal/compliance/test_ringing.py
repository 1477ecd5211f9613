"""Frequency and damping from bursts of a made signal."""

import numpy as np
import pytest

from feltload.signal.compliance.ringing import find_mode

RATE_HZ = 80.0


def rung(frequency_hz: float, damping: float, *, bursts: int = 8, seed: int = 1) -> np.ndarray:
    """A slow force with noise, and decaying oscillations of any phase on it."""
    rng = np.random.default_rng(seed)
    time = np.arange(0.0, 5.0 * (bursts + 1), 1.0 / RATE_HZ)
    force = 150.0 + 60.0 * np.sin(0.9 * time) + rng.normal(0.0, 0.5, time.size)
    turn = 2.0 * np.pi * frequency_hz
    for start in 3.0 + 5.0 * np.arange(bursts) + rng.uniform(0.0, 0.5, bursts):
        since = np.clip(time - start, 0.0, None)
        wave = np.cos(turn * np.sqrt(1.0 - damping**2) * since + rng.uniform(0.0, 6.28))
        force += np.where(
            time >= start, rng.uniform(20.0, 60.0) * np.exp(-damping * turn * since) * wave, 0.0
        )
    return force


@pytest.mark.parametrize(("frequency_hz", "damping"), [(8.0, 0.01), (12.0, 0.03), (12.0, 0.05), (25.0, 0.03)])
def test_mode_of_decaying_oscillations(frequency_hz: float, damping: float) -> None:
    mode = find_mode([(rung(frequency_hz, damping), RATE_HZ)])
    assert mode is not None
    assert mode.frequency_hz == pytest.approx(frequency_hz, abs=2.0 * mode.u_frequency_hz)
    assert mode.frequency_hz == pytest.approx(frequency_hz, rel=0.03)
    assert mode.damping == pytest.approx(damping, abs=max(2.0 * mode.u_damping, 0.3 * damping))


def test_a_tremor_that_goes_on_is_no_mode() -> None:
    # Physiological tremor is 8 to 12 Hz (common practice, no source).
    rng = np.random.default_rng(3)
    time = np.arange(0.0, 60.0, 1.0 / RATE_HZ)
    tremor = sum(
        3.0 * np.sin(2.0 * np.pi * hertz * time + phase) for hertz, phase in ((8.1, 0.0), (9.4, 1.0))
    )
    knocks = np.zeros_like(time)
    knocks[(rng.uniform(2.0, 58.0, 8) * RATE_HZ).astype(int)] = 120.0
    assert find_mode([(150.0 + tremor + knocks + rng.normal(0.0, 0.5, time.size), RATE_HZ)]) is None


def test_noise_alone_slow_sensors_and_dead_ones_show_none() -> None:
    rng = np.random.default_rng(4)
    assert find_mode([(rng.normal(0.0, 1.0, 4000), RATE_HZ)]) is None
    assert find_mode([(rng.normal(0.0, 1.0, 400), 10.0)]) is None
    assert find_mode([]) is None
    assert find_mode([(np.zeros(4000), RATE_HZ)]) is None


def test_gaps_are_no_bursts() -> None:
    force = rung(12.0, 0.03)
    force[400:900] = np.nan
    mode = find_mode([(force, RATE_HZ)])
    assert mode is not None
    assert mode.frequency_hz == pytest.approx(12.0, rel=0.03)
