"""What a profile says: where it is heavy and light, its shape, friction and inertia."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from feltload.core import Fact, Figure, Severity
from feltload.signal.errors import ProfileError
from feltload.signal.profile.estimate import ProfileEstimate
from feltload.signal.profile.facts import FindingFact
from feltload.signal.profile.friction.by_load import FrictionByLoad, friction_by_load
from feltload.signal.profile.friction.tight_spots import TightSpot, find_tight_spots

ShapeClass = Literal["ascending", "descending", "ascending-descending", "descending-ascending", "flat"]

FLAT_SHARE = 0.08
"""A rise or fall of less than this part of the peak does not count as a limb of the curve."""

SMOOTH_PEAK_ACCELERATION = 10.0 / np.sqrt(3.0)
"""Peak acceleration of a movement from rest to rest that is as smooth as can be (fifth-order polynomial), in units
of range / duration squared: Flash & Hogan (1985), doi:10.1523/JNEUROSCI.05-07-01688.1985."""


@dataclass(frozen=True)
class Shape:
    """Shape of the static profile at one load.

    Attributes
    ----------
    load_kg : float
    shape : str
        Class of the curve against the travel.
    peak_n, peak_angle_rad : float
        Largest static force and where.
    low_n, low_angle_rad : float
        Smallest static force and where.
    end_n : float
        Static force at the end of the measured range.

    References
    ----------
    Kulig, Andrews & Hay (1984), Human strength curves, Exerc Sport Sci Rev 12:417-466: ascending,
    descending, ascending-descending (terms from memory).
    """

    load_kg: float
    shape: ShapeClass
    peak_n: float
    peak_angle_rad: float
    low_n: float
    low_angle_rad: float
    end_n: float

    @property
    def drop_off_percent(self) -> float:
        """By how much the force falls from its peak to the end of the range, percent of the peak."""
        return 100.0 * (self.peak_n - self.end_n) / max(abs(self.peak_n), 1e-9)


def describe_shape(estimate: ProfileEstimate, load_index: int = 0) -> Shape:
    """Shape of the static profile at one load, over the angles that it covered.

    Raises
    ------
    ProfileError
        If the load covered no angle at all.
    """
    covered = np.isfinite(estimate.static_n[load_index])
    if not np.any(covered):
        raise ProfileError(
            f"{estimate.loads_kg[load_index]:g} kg was moved nowhere that a profile could be found",
            where=estimate.machine_name,
            remedy="record it again through the whole travel",
        )
    force = estimate.static_n[load_index][covered]
    angle = estimate.angle_rad[covered]
    top, bottom = int(np.argmax(force)), int(np.argmin(force))
    peak = float(force[top])
    tolerance = FLAT_SHARE * max(abs(peak), 1e-9)
    shape: ShapeClass
    if peak - float(force[bottom]) < tolerance:
        shape = "flat"
    else:
        rise_to_peak, fall_from_peak = peak - float(force[0]), peak - float(force[-1])
        fall_to_low = float(force[0]) - float(force[bottom])
        rise_from_low = float(force[-1]) - float(force[bottom])
        if min(rise_to_peak, fall_from_peak) >= tolerance and min(rise_to_peak, fall_from_peak) >= min(
            fall_to_low, rise_from_low
        ):
            shape = "ascending-descending"
        elif min(fall_to_low, rise_from_low) >= tolerance:
            shape = "descending-ascending"
        else:
            shape = "ascending" if force[-1] > force[0] else "descending"
    return Shape(
        load_kg=float(estimate.loads_kg[load_index]),
        shape=shape,
        peak_n=peak,
        peak_angle_rad=float(angle[top]),
        low_n=float(force[bottom]),
        low_angle_rad=float(angle[bottom]),
        end_n=float(force[-1]),
    )


def friction_share(estimate: ProfileEstimate, load_index: int = 0) -> float:
    """Mean friction as a part of the mean size of the static force; NaN where it was not separated."""
    friction_n, _ = mean_friction_n(estimate, load_index)
    return friction_n / max(float(np.nanmean(np.abs(estimate.static_n[load_index]))), 1e-9)


def mean_friction_n(estimate: ProfileEstimate, load_index: int = 0) -> tuple[float, float]:
    """Mean friction over the travel and the half-width of its 95 % band, NaN where that was not kept.

    Both are NaN where friction was not separated from the force.
    """
    band, friction = estimate.friction_band, estimate.friction_n[load_index]
    if not np.any(np.isfinite(friction)):
        return float("nan"), float("nan")
    if band is None:
        return float(np.nanmean(friction)), float("nan")
    u = float(np.sqrt(max(float(np.mean(band.of_load(load_index))), 0.0)))
    return float(np.nanmean(friction)), band.coverage * u


def tight_spots(estimate: ProfileEstimate, load_index: int = 0) -> tuple[TightSpot, ...]:
    """Places where friction at one load stands out of the rest; none where its band was not kept."""
    band = estimate.friction_band
    if band is None:
        return ()
    return find_tight_spots(
        estimate.angle_rad,
        estimate.friction_n[load_index],
        band.of_load(load_index),
        coverage=band.coverage,
    )


def friction_parts(estimate: ProfileEstimate) -> FrictionByLoad:
    """Friction that grows with the load apart from friction that does not, as far as the loads tell."""
    return friction_by_load(estimate.loads_kg, estimate.friction_n, estimate.friction_band)


def _friction_parts(estimate: ProfileEstimate) -> Fact:
    parts = friction_parts(estimate)
    figures: dict[str, Figure] = {"load_kg": float(np.max(estimate.loads_kg))}
    if not parts.parted:
        figures["loads_kg"] = tuple(float(load) for load in parts.loads_kg)
        return Fact(FindingFact.FRICTION_NOT_PARTED, Severity.NOTE, figures=figures)
    figures |= {
        "steady_n": parts.steady_n,
        "steady_u95_n": parts.steady_u95_n,
        "per_kg_n": parts.per_kg_n,
        "per_kg_u95_n": parts.per_kg_u95_n,
        "grows": parts.grows,
    }
    return Fact(FindingFact.FRICTION_BY_LOAD, Severity.NOTE, figures=figures)


def inertia_at_tempo_n(estimate: ProfileEstimate, load_index: int = 0) -> float:
    """Force that starting the concentric phase adds at the person's own tempo, in N.

    Peak acceleration of a smooth movement of the mean range and time, times the felt inertia. NaN when there
    is no complete repetition at this load.
    """
    load = float(estimate.loads_kg[load_index])
    done = [r for r in estimate.repetitions if r.complete and abs(r.load_kg - load) < 1e-3]
    if not done:
        return float("nan")
    accel = np.mean([SMOOTH_PEAK_ACCELERATION * r.range_rad / r.concentric_s**2 for r in done])
    return float(accel * np.nanmedian(estimate.inertia_by_load_n_per_rad_s2[load_index]))


def summarize_findings(estimate: ProfileEstimate) -> list[Fact]:
    """Findings for every load, in the order a reader wants them.

    Raises
    ------
    ProfileError
        If a load covered no angle at all.
    """
    facts = [fact for k in range(estimate.loads_kg.size) for fact in _findings_at(estimate, k)]
    separated = all(np.isfinite(mean_friction_n(estimate, k)[0]) for k in range(estimate.loads_kg.size))
    return [*facts, _friction_parts(estimate)] if separated else facts


def _findings_at(estimate: ProfileEstimate, load_index: int) -> list[Fact]:
    shape = describe_shape(estimate, load_index)

    def finding(kind: FindingFact, **figures: Figure) -> Fact:
        return Fact(kind, Severity.NOTE, figures={"load_kg": shape.load_kg, **figures})

    place = estimate.travel.figures
    top = int(np.nanargmax(estimate.static_n[load_index]))
    facts = [
        finding(FindingFact.SHAPE, shape=shape.shape),
        finding(
            FindingFact.HEAVIEST,
            force_n=shape.peak_n,
            u95_n=float(estimate.static_u95_n[load_index][top]),
            **place(shape.peak_angle_rad),
        ),
        finding(FindingFact.LIGHTEST, force_n=shape.low_n, **place(shape.low_angle_rad)),
    ]
    if shape.drop_off_percent >= 100.0 * FLAT_SHARE:
        facts.append(finding(FindingFact.DROP_OFF, share=shape.drop_off_percent / 100.0, end_n=shape.end_n))
    friction_n, u95_n = mean_friction_n(estimate, load_index)
    known: dict[str, Figure] = {"u95_n": u95_n} if np.isfinite(u95_n) else {}
    share = friction_share(estimate, load_index)
    if np.isfinite(friction_n):
        facts.append(finding(FindingFact.FRICTION, force_n=friction_n, share=share, **known))
    facts += [
        replace(
            finding(
                FindingFact.TIGHT_SPOT,
                force_n=spot.friction_n,
                u95_n=spot.friction_u95_n,
                rest_n=spot.rest_n,
                excess_n=spot.excess_n,
                excess_u95_n=spot.excess_u95_n,
                low_rad=spot.low_rad,
                high_rad=spot.high_rad,
                **place(spot.angle_rad),
            ),
            severity=Severity.CAUTION,
        )
        for spot in tight_spots(estimate, load_index)
    ]
    extra = inertia_at_tempo_n(estimate, load_index)
    if np.isfinite(extra):
        facts.append(finding(FindingFact.INERTIA, force_n=extra))
    return facts
