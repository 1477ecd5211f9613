"""Whether recordings suffice so far: the estimator's own band, and what more would bring.

Thresholds: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from feltload.acquisition import Recording
from feltload.app.running.enough import Enough, Improvement, Outlook
from feltload.app.running.facts import LiveFact
from feltload.calibration import Machine, reference_of
from feltload.core import Fact, FeltloadError, Severity
from feltload.signal import (
    BudgetItem,
    BudgetSource,
    ProfileEstimate,
    ProfileFact,
    Session,
    estimate,
    foreseen_u95_n,
)

WANTED_SHARE = 0.01
"""A band of 1 % of the peak: plates come in steps of 1.25 kg, which is more at any load in use."""
WORTHWHILE = 0.9
"""An improvement to more than this part of the band is not worth a client's effort."""
FEWEST_REPETITIONS = 3
MORE_REPETITIONS = 2
NOT_YET = (ProfileFact.NOT_COVERED, ProfileFact.COVERED_ONCE)
"""With these more repetitions are needed, whatever the band."""


_Share = Callable[..., float]


def assess(recordings: Sequence[Recording], machine: Machine, *, side: str | None, at_s: float) -> Enough:
    """Run the estimator on what is there.

    Parameters
    ----------
    recordings : sequence of Recording
        Of one machine; the last one is the one that is being made.
    machine : Machine
    side : str, optional
        Arm, where the rig has both.
    at_s : float
        Recorded time of the last one.
    """
    load_kg = recordings[-1].load_kg
    try:
        sessions = [
            replace(Session.from_recording(recording, side=side), name=str(place))
            for place, recording in enumerate(recordings)
        ]
        profile = estimate(sessions, reference=reference_of(machine))
    except FeltloadError as error:
        # Too little so far is what this is asked for to find out.
        figures = {"what": error.what, "remedy": error.remedy or ""}
        return Enough(
            at_s,
            wanted_share=WANTED_SHARE,
            load_kg=load_kg,
            facts=(Fact(LiveFact.NO_PROFILE_YET, Severity.NOTE, figures=figures),),
        )
    return enough_of(profile, load_kg, at_s=at_s)


def enough_of(profile: ProfileEstimate, load_kg: float, *, at_s: float) -> Enough:
    """What a profile says about itself at one of its loads."""
    row = int(np.argmin(np.abs(profile.loads_kg - load_kg)))
    peak_n = float(np.nanmax(np.abs(profile.static_n[row])))

    def share(more_movements: float, without: Sequence[BudgetSource] = ()) -> float:
        return float(np.nanmean(foreseen_u95_n(profile, more_movements, without=without)[row])) / peak_n

    band = float(np.nanmean(profile.static_u95_n[row])) / peak_n
    outlook = sorted(
        (each for each in _outlooks(profile, load_kg, share) if each.band_share < WORTHWHILE * band),
        key=lambda each: each.band_share,
    )
    repetitions = sum(1 for each in profile.repetitions if math.isclose(each.load_kg, load_kg, abs_tol=1e-6))
    doubts = {fact.kind for fact in profile.warnings}
    serious = any(fact.severity is Severity.SERIOUS for fact in profile.warnings)
    largest = max(profile.budget, key=lambda item: _size_n(item, row))
    return Enough(
        at_s,
        is_enough=(
            repetitions >= FEWEST_REPETITIONS
            and not serious
            and not doubts & set(NOT_YET)
            and (band <= WANTED_SHARE or not outlook)
        ),
        band_share=band,
        wanted_share=WANTED_SHARE,
        least_share=share(math.inf),
        outlook=tuple(outlook),
        limit=largest.source,
        limit_stated=largest.stated,
        repetitions=repetitions,
        load_kg=load_kg,
        angle_rad=tuple(profile.angle_rad.round(5).tolist()),
        static_n=tuple(profile.static_n[row].round(2).tolist()),
        u95_n=tuple(profile.static_u95_n[row].round(2).tolist()),
        facts=profile.warnings,
    )


def _outlooks(profile: ProfileEstimate, load_kg: float, share: _Share) -> list[Outlook]:
    more = 2.0 * MORE_REPETITIONS
    found = [Outlook(Improvement.SLOW, MORE_REPETITIONS, load_kg, share(more))]
    if profile.lag is not None and not profile.lag.known:
        lagless = share(more, [BudgetSource.LAG])
        found.append(Outlook(Improvement.BRISK, MORE_REPETITIONS, load_kg, lagless))
    if any(item.source is BudgetSource.ZERO_DRIFT and not item.stated for item in profile.budget):
        found.append(Outlook(Improvement.ZERO_AFTER, 0, load_kg, share(0.0, [BudgetSource.ZERO_DRIFT])))
    return found


def _size_n(item: BudgetItem, row: int) -> float:
    return float(np.sqrt(np.mean(item.curve_n[row] ** 2)))
