"""Gap and wind-up from how the load comes onto the hands."""

import numpy as np
import pytest

from feltload.signal.compliance.contacts import find_contacts, loading_line
from feltload.signal.movement.grid import Rotation, align

START_N, FORCE_HZ = 200.0, 80.0


def session(gap_rad: float, wind_up_rad_n: float, *, late_s: float = 0.0, seed: int = 0):
    """Loads taken up and set down at several rates: the angle goes through the gap without force, then with it."""
    rng = np.random.default_rng(seed)
    time = np.arange(0.0, 40.0, 0.01)
    whole = gap_rad + START_N * wind_up_rad_n
    q = np.zeros_like(time)
    for k, start in enumerate(np.arange(2.0, 38.0, 6.0)):
        rate = 0.04 + 0.03 * k
        q += np.clip((time - start) * rate, 0.0, 0.1) - np.clip((time - start - 3.0) * rate, 0.0, 0.1)
    at = np.arange(0.0, 40.0, 1.0 / FORCE_HZ)
    felt = np.clip((np.interp(at - late_s, time, q) - gap_rad) / max(whole - gap_rad, 1e-9), 0.0, 1.0)
    zeros = np.zeros_like(time)
    motion = Rotation(
        time, q + rng.normal(0.0, 1e-4, time.size), np.gradient(q, time), zeros, zeros, zeros, 0.0, 0.0
    )
    return align("made", motion, at, START_N * felt + rng.normal(0.0, 0.5, at.size), load_kg=40.0)


@pytest.mark.parametrize("gap_deg", [0.0, 0.2, 1.0])
def test_gap_and_wind_up_of_a_made_session(gap_deg: float) -> None:
    gap, wind_up = np.radians(gap_deg), np.radians(0.3) / START_N
    contacts = find_contacts(session(float(gap), wind_up, late_s=0.02), 0.017, START_N)
    assert len(contacts) == 12
    assert sum(contact.taken for contact in contacts) == 6
    line = loading_line(contacts, 1.0 / FORCE_HZ)
    assert line is not None
    # The lag is 3 ms off on purpose: taken up and set down, it cancels.
    assert line.gap_rad == pytest.approx(gap, abs=2.5 * line.u_gap_rad)
    assert line.wind_up_rad_n == pytest.approx(wind_up, abs=2.5 * line.u_wind_up_rad_n)
    assert line.u_gap_rad < np.radians(0.05)


def test_what_is_known_of_the_wind_up_narrows_the_gap() -> None:
    wind_up = np.radians(0.3) / START_N
    contacts = find_contacts(session(float(np.radians(0.2)), wind_up), 0.0, START_N)
    free, known = (
        loading_line(contacts, 1.0 / FORCE_HZ, given) for given in (None, (wind_up, 0.01 * wind_up))
    )
    assert free is not None and known is not None
    assert known.u_gap_rad < 0.8 * free.u_gap_rad
    assert known.gap_rad == pytest.approx(np.radians(0.2), abs=2.5 * known.u_gap_rad)


def test_a_load_that_comes_while_the_arm_stands_shows_no_gap() -> None:
    time = np.arange(0.0, 20.0, 0.01)
    zeros = np.zeros_like(time)
    q = 0.5 * np.clip(np.sin(0.5 * (time - 2.0)), 0.0, 1.0)
    motion = Rotation(time, q, np.gradient(q, time), zeros, zeros, zeros, 0.0, 0.0)
    # In the hands half a second before the arm leaves the stop, and half a second after it is back.
    on = (np.sin(0.5 * (time - 2.0)) > -np.sin(0.25)).astype(float)
    force = START_N * np.convolve(on, np.ones(20) / 20.0, "same")
    contacts = find_contacts(align("made", motion, time, force, load_kg=40.0), 0.0, START_N)
    line = loading_line(contacts, 0.01)
    assert len(contacts) >= 2 and line is not None
    assert abs(line.gap_rad) < 2.0 * line.u_gap_rad


def test_one_contact_tells_nothing() -> None:
    contacts = find_contacts(session(0.01, 1e-5), 0.0, START_N)
    assert loading_line(contacts[:1], 0.0125) is None
