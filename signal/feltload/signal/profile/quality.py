"""What puts a profile in doubt: travel not covered, a lag that is not known, a force that does not fit or agree."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from feltload.core import NORMAL_COVERAGE_95, Fact, Figure, Flags, Floats, Indices, Severity, runs_of_true
from feltload.signal.alignment.facts import AlignmentFact
from feltload.signal.alignment.latency import SEARCH_S
from feltload.signal.alignment.zero_drift import DISAGREES
from feltload.signal.errors import ProfileError
from feltload.signal.profile.facts import ProfileFact

if TYPE_CHECKING:
    from feltload.signal.alignment.lag import Lag
    from feltload.signal.alignment.solved import Solved
    from feltload.signal.movement.grid import Aligned
    from feltload.signal.profile.estimate import ProfileEstimate

EDGE_SHARE = 0.06
"""Part of the travel below which a lack at its ends, or of a second half-repetition, is not reported."""
MUCH_SHARE = 0.15
"""Part of the travel without which what is said of its start, end and heaviest position is of something else."""
LARGE_SCATTER_SHARE = 0.03
"""Scatter, as a part of the peak, that is reported."""
LARGE_REJECTED_SHARE = 0.05
"""Part of the moving data left out that is reported."""
NEGATIVE_FRICTION_SHARE = 0.02
"""Friction below zero by this part of the peak cannot be noise."""
USED_WEIGHT = 0.05
"""Rows of less weight do not count as used."""

BELOW_START_RAD = np.radians(20.0)
"""The arm rests on its start stop; a rest taken a little early leaves it so far above at most."""

BEYOND_REPETITIONS = 1.25
"""A profile may be wider than the widest repetition by this factor (repetitions that a hole cut short)."""

BEYOND_REPETITIONS_RAD = np.radians(15.0)

LEAST_DRIFT_RAD = np.radians(0.3)
"""A drift of the angle that the force showed is reported from this on."""

LEAST_ZERO_DRIFT_N = 0.5
"""A smaller drift of the zero is not reported."""

SURELY_LESS = 0.9
"""An inertia that is less by this factor is no matter of how well it was measured."""

MOST_N = 2e4
"""No handle asks for more: the heaviest presses are loaded with about a ton (common practice, no source)."""

FULL_TURN_RAD = 2.0 * np.pi
"""A start angle is an elevation."""


def coverage_facts(
    solved: Solved, raising: Indices, lowering: Indices, covered: Flags, angle_rad: Floats
) -> list[Fact]:
    """Where each load lacks half-repetitions, raising or lowering; counts have shape (m, n)."""
    facts = []
    inner = np.zeros_like(covered)
    if np.any(covered):
        first, last = np.flatnonzero(covered)[[0, -1]]
        inner[first : last + 1] = True
    for k, load in enumerate(solved.layout.loads_kg):
        at_load: dict[str, Figure] = {"load_kg": float(load)} if solved.layout.loads_differ else {}
        lost = (raising[k] == 0) | (lowering[k] == 0)
        edge = lost & ~inner
        few = covered & (np.minimum(raising[k], lowering[k]) < 2)
        most = EDGE_SHARE * angle_rad.size
        for kind, where, reported in (
            (ProfileFact.NOT_COVERED, lost & inner, bool(np.any(lost & inner))),
            (ProfileFact.PARTLY_COVERED, edge, np.count_nonzero(edge) > most),
            (ProfileFact.COVERED_ONCE, few, np.count_nonzero(few) > most),
        ):
            if reported:
                ends = [(float(angle_rad[a]), float(angle_rad[b - 1])) for a, b in runs_of_true(where)]
                low, high = zip(*ends, strict=True)
                much = (
                    kind is ProfileFact.PARTLY_COVERED
                    and np.count_nonzero(where) > MUCH_SHARE * angle_rad.size
                )
                severity = Severity.SERIOUS if much else Severity.CAUTION
                facts.append(Fact(kind, severity, figures={**at_load, "low_rad": low, "high_rad": high}))
    return facts


def lag_facts(solved: Solved, lags: Sequence[Lag]) -> list[Fact]:
    """Which sessions' lags are unknown, larger than sensors delay, or found differently; whose angle drifted."""
    facts: list[Fact] = []
    figures: dict[str, Figure]
    for rows, lag in zip(solved.sessions, lags, strict=True):
        name = rows.aligned.name
        if rows.aligned.drift_taken_rad > LEAST_DRIFT_RAD:
            figures = {"drift_rad": rows.aligned.drift_taken_rad}
            facts.append(Fact(AlignmentFact.DRIFT_TAKEN_OFF, session=name, figures=figures))
        facts += zero_drift_facts(rows.aligned)
        if not lag.known:
            figures = {"lag_s": lag.value_s, "u_s": lag.u_s}
            facts.append(Fact(AlignmentFact.LAG_UNKNOWN, session=name, figures=figures))
        elif not SEARCH_S[0] <= lag.value_s <= SEARCH_S[1]:
            facts.append(Fact(AlignmentFact.LAG_LARGE, session=name, figures={"lag_s": lag.value_s}))
        if not lag.agree:
            figures = {
                "methods": tuple(str(reading.method) for reading in lag.readings),
                "lag_s": tuple(reading.value_s for reading in lag.readings),
                "u_s": tuple(reading.u_s for reading in lag.readings),
            }
            facts.append(Fact(AlignmentFact.LAGS_DISAGREE, session=name, figures=figures))
    return facts


def zero_drift_facts(aligned: Aligned) -> list[Fact]:
    """The drift of one session's zero, and where a rest afterwards says another."""
    drift, known = aligned.zero_drift, aligned.zero_known
    if drift is None or known is None:
        return []
    facts = []
    size_n = known.after_n + float(drift.value_n[-1])
    u95_n = NORMAL_COVERAGE_95 * drift.end_u_n
    if float(np.max(np.abs(drift.value_n))) > max(LEAST_ZERO_DRIFT_N, u95_n):
        figures: dict[str, Figure] = {
            "drift_n": size_n,
            "u95_n": u95_n,
            "duration_s": float(drift.knot_s[-1] - drift.knot_s[0]),
            "checked": known.after_s is not None,
        }
        facts.append(Fact(AlignmentFact.ZERO_DRIFT, Severity.NOTE, session=aligned.name, figures=figures))
    apart = abs(drift.free_n - drift.rests_n)
    if apart > max(LEAST_ZERO_DRIFT_N, DISAGREES * float(np.hypot(drift.free_u_n, known.after_u_n))):
        figures = {
            "rests_n": drift.rests_n,
            "drift_n": drift.free_n,
            "u95_n": NORMAL_COVERAGE_95 * drift.free_u_n,
        }
        facts.append(Fact(AlignmentFact.ZERO_DRIFT_DISAGREES, session=aligned.name, figures=figures))
    return facts


def fit_facts(solved: Solved, static_n: Floats, friction_n: Floats) -> list[Fact]:
    """How the force fits, and signs that no machine has."""
    facts = []
    peak, scatter = float(np.max(np.abs(static_n))), float(solved.fit.scale_n)
    if scatter > LARGE_SCATTER_SHARE * peak:
        facts.append(Fact(ProfileFact.SCATTER, figures={"scatter_n": scatter, "share": scatter / peak}))
    kept = np.concatenate(solved.fit.kept)
    rejected = float(np.mean(np.concatenate(solved.fit.weights)[kept] <= USED_WEIGHT))
    if rejected > LARGE_REJECTED_SHARE:
        facts.append(Fact(ProfileFact.NOT_FITTED, figures={"share": rejected, "gives": solved.gives}))
    least = float(np.min(friction_n))
    if least < -NEGATIVE_FRICTION_SHARE * peak:
        facts.append(Fact(ProfileFact.NEGATIVE_FRICTION, Severity.SERIOUS, figures={"friction_n": least}))
    if -float(np.min(static_n)) > float(np.max(static_n)):
        facts.append(Fact(ProfileFact.NEGATIVE_FORCE, Severity.SERIOUS))
    return facts


def load_facts(loads_kg: Floats, static_n: Floats, inertia_n_per_rad_s2: Floats) -> list[Fact]:
    """Whether more load asks for less; loads have shape (m,), curves (m, n)."""
    both = np.isfinite(static_n[0]) & np.isfinite(static_n[-1])
    if loads_kg.size < 2 or not np.any(both):
        return []
    more_n = float(np.mean(static_n[-1][both] - static_n[0][both]))
    if more_n > -LARGE_SCATTER_SHARE * float(np.max(np.abs(static_n[:, both]))):
        return []
    # On a machine whose weights help, a handle is lighter with more of them; they are moved along all the same.
    light, heavy = (float(np.nanmedian(inertia_n_per_rad_s2[k])) for k in (0, -1))
    swapped = heavy < SURELY_LESS * light
    figures: dict[str, Figure] = {
        "light_kg": float(loads_kg[0]),
        "heavy_kg": float(loads_kg[-1]),
        "difference_n": more_n,
        "swapped": swapped,
    }
    severity = Severity.SERIOUS if swapped else Severity.CAUTION
    return [Fact(ProfileFact.LIGHTER_WITH_LOAD, severity, figures=figures)]


def require_plausible(estimate: ProfileEstimate, *, where: str) -> None:
    """Refuse a profile that its own evidence contradicts.

    Raises
    ------
    ProfileError
        Says what is absurd.
    """
    if _reads_the_wrong_way(estimate):
        raise ProfileError(
            "the load cell reads the wrong way round: force and friction are below zero",
            where=where,
            remedy="turn the cell, or give its scale the other sign in the rig file, and record again",
        )
    most_n = float(np.max(np.abs(np.nan_to_num(estimate.static_n))))
    if most_n > MOST_N:
        raise ProfileError(
            f"the force at the handle reaches {most_n / 1e3:.3g} kN, more than any training machine asks of a person",
            where=where,
            remedy="check its unit and scale: in the rig file, the certificate or the columns",
        )
    reason = _absurdity(estimate)
    if reason is not None:
        raise ProfileError(
            f"no profile to rely on: {reason}",
            where=where,
            remedy="check the streams for holes and record whole repetitions again from a rest on the start stop",
        )


def _reads_the_wrong_way(estimate: ProfileEstimate) -> bool:
    """Some machines push the handle along, but none has friction that helps."""
    force, friction = np.nan_to_num(estimate.static_n), np.nan_to_num(estimate.friction_n)
    most = float(np.max(np.abs(force)))
    backwards = -float(np.min(force)) > float(np.max(force))
    return backwards and float(np.median(friction)) < -NEGATIVE_FRICTION_SHARE * most


def _absurdity(estimate: ProfileEstimate) -> str | None:
    angle, start = estimate.angle_rad, estimate.start_angle_rad
    if angle.size < 2 or not np.all(np.isfinite(angle)) or not np.all(np.diff(angle) > 0.0):
        return "its angles are not finite and rising"
    if not abs(start) <= FULL_TURN_RAD:
        return f"its start angle is {np.degrees(start):.0f}°, more than a full turn"
    loads_kg = estimate.loads_kg
    if not (np.all(np.isfinite(loads_kg)) and np.all(loads_kg >= 0.0) and np.all(np.diff(loads_kg) > 0.0)):
        return f"its loads are {', '.join(f'{kg:g}' for kg in loads_kg)} kg, not masses that rise"
    known = np.isfinite(estimate.static_n)
    if not np.any(known, axis=1).all() or not np.all(np.isfinite(estimate.static_u95_n[known])):
        return "its forces or their bands are not finite"
    if not np.any(estimate.static_n[known]) or np.any(estimate.static_u95_n[known] < 0.0):
        return "its forces are all zero, or their bands below zero"
    if estimate.moved and not estimate.repetitions:
        return "it holds no repetitions"
    low, high = float(angle[0]) - start, float(angle[-1]) - start
    if low < -BELOW_START_RAD:
        return f"it reaches {np.degrees(-low):.0f}° below the start stop"
    if not estimate.moved:
        return None
    widest = max(repetition.range_rad for repetition in estimate.repetitions)
    if high - low > BEYOND_REPETITIONS * widest + BEYOND_REPETITIONS_RAD:
        return f"it spans {np.degrees(high - low):.0f}°, and its widest repetition {np.degrees(widest):.0f}°"
    return None
