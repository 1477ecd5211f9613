"""What is put back where hands come on or go off within a few degrees, and the band there, worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.coaching.hands.edges import SPREAD_RAD, edge_spread_rad, edge_u95_n, sharpened

ANGLE = np.deg2rad(np.arange(-30.0, 31.0))


def test_what_does_not_stand_out_of_its_noise_is_not_put_back() -> None:
    help_n = np.linspace(0.0, 50.0, ANGLE.size)
    taken_off = np.full(ANGLE.size, 3.9)
    assert sharpened(ANGLE, help_n, taken_off, 1.0) == pytest.approx(help_n)
    taken_off[30] = 4.1
    expected = help_n.copy()
    expected[28:33] += taken_off[28:33]
    assert sharpened(ANGLE, help_n, taken_off, 1.0) == pytest.approx(expected)


def test_the_error_reaches_as_far_as_the_arm_turns_within_the_filter() -> None:
    """At 90°/s through 8 Hz: 3 x 90 / (2 pi 8) = 5.37 degrees; no less than 2 degrees for a slow arm."""
    assert np.rad2deg(edge_spread_rad(np.deg2rad(90.0), 8.0)) == pytest.approx(5.371, abs=1e-3)
    assert edge_spread_rad(np.deg2rad(20.0), 20.0) == SPREAD_RAD
    taken_off = np.zeros(ANGLE.size)
    taken_off[30] = -5.0
    step = ANGLE[1] - ANGLE[0]
    wide = edge_u95_n(ANGLE, np.full(ANGLE.size, 20.0), taken_off, 1.0, 0.0, spread_rad=4.0 * step)
    assert np.flatnonzero(wide).tolist() == list(range(26, 35))


def test_band_at_an_edge_by_hand() -> None:
    """3.5 times what stands out of two of its noise, within 2 degrees; and twice the angle's u times the slope."""
    flat, taken_off = np.full(ANGLE.size, 20.0), np.zeros(ANGLE.size)
    taken_off[30] = -5.0
    band = edge_u95_n(ANGLE, flat, taken_off, 1.0, 0.01)
    assert band[28:33] == pytest.approx(np.full(5, 3.5 * (5.0 - 2.0)))
    assert np.delete(band, slice(28, 33)) == pytest.approx(np.zeros(56))
    steep = edge_u95_n(ANGLE, 100.0 * ANGLE, np.zeros(ANGLE.size), 1.0, 0.01)
    assert steep == pytest.approx(np.full(ANGLE.size, 2.0 * 0.01 * 100.0))
    nowhere = np.full(ANGLE.size, np.nan)
    assert np.isnan(edge_u95_n(ANGLE, nowhere, taken_off, 1.0, 0.01)).all()
