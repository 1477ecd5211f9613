"""The band that more repetitions would bring, compared with the band once they have been recorded."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from feltload.acquisition import read_recording
from feltload.signal.pipeline import estimate
from feltload.signal.profile.foreseen import foreseen_u95_n
from feltload.signal.profile.uncertainty.budget_item import BudgetSource
from feltload.signal.session import Reference, Session

RECORDINGS = Path(__file__).parents[3] / "recordings"


def profile(name, until_s):
    recording = read_recording(RECORDINGS / name)
    recording = recording.until(recording.origin_ns + int(until_s * 1e9))
    reference = Reference("row", 0.0, np.radians(0.3))
    return estimate([Session.from_recording(recording)], reference=reference)


def test_with_none_more_it_is_the_band_that_was_estimated():
    now = profile("lever-row-40kg.mcap", 14.0)
    assert foreseen_u95_n(now, 0.0) == pytest.approx(now.static_u95_n, rel=1e-6)


@pytest.mark.parametrize(
    ("name", "now_s", "later_s"),
    [
        ("lever-row-20kg.mcap", 14.0, 18.0),
        ("lever-row-40kg.mcap", 12.0, 18.0),
        ("peg-out-40kg.mcap", 12.0, 18.0),
    ],
)
def test_what_is_promised_is_kept(name, now_s, later_s):
    """A session cut early: what more half-repetitions bring is foreseen no narrower than it turns out."""
    now, later = profile(name, now_s), profile(name, later_s)
    more = later.health.movements - now.health.movements
    assert more >= 2
    foreseen = float(np.mean(foreseen_u95_n(now, more)))
    assert float(np.mean(later.static_u95_n)) <= 1.05 * foreseen < 1.05 * float(np.mean(now.static_u95_n))


def test_no_number_of_repetitions_takes_the_systematic_part_away():
    now = profile("lever-row-40kg.mcap", 30.0)
    least = foreseen_u95_n(now, np.inf)
    gain = next(item for item in now.budget if item.source is BudgetSource.FORCE_GAIN)
    assert np.all(least >= 1.9 * np.abs(gain.curve_n))
    without = foreseen_u95_n(now, np.inf, without=[BudgetSource.FORCE_GAIN])
    assert np.mean(without) < np.mean(least)
