"""What a profile says, in plain words: where it is heavy and light, its shape, friction and inertia."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from feltload.core import force_text, newtons, plain_degrees
from feltload.signal.errors import ProfileError
from feltload.signal.profile.estimate import ProfileEstimate

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
    peak_n, peak_angle_deg : float
        Largest static force and where.
    low_n, low_angle_deg : float
        Smallest static force and where.
    end_n : float
        Static force at the end of the measured range.
    drop_off_percent : float
        By how much the force falls from its peak to the end of the range, percent of the peak.

    References
    ----------
    Kulig, Andrews & Hay (1984), Human strength curves, Exerc Sport Sci Rev 12:417-466: ascending,
    descending, ascending-descending (terms from memory).
    """

    load_kg: float
    shape: ShapeClass
    peak_n: float
    peak_angle_deg: float
    low_n: float
    low_angle_deg: float
    end_n: float
    drop_off_percent: float


@dataclass(frozen=True)
class Finding:
    """One finding.

    Attributes
    ----------
    kind : str
        ``"heaviest"``, ``"lightest"``, ``"drop-off"``, ``"shape"``, ``"friction"`` or ``"inertia"``.
    load_kg : float
        Load it holds for.
    value : float
        Its figure in SI, or as a share.
    sentence : str
        In plain words.
    """

    kind: str
    load_kg: float
    value: float
    sentence: str


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
    angle = np.degrees(estimate.angle_rad[covered])
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
        peak_angle_deg=float(angle[top]),
        low_n=float(force[bottom]),
        low_angle_deg=float(angle[bottom]),
        end_n=float(force[-1]),
        drop_off_percent=100.0 * (peak - float(force[-1])) / max(abs(peak), 1e-9),
    )


def friction_share(estimate: ProfileEstimate, load_index: int = 0) -> float:
    """Mean friction as a part of the mean size of the static force."""
    friction, static = estimate.friction_n[load_index], estimate.static_n[load_index]
    return float(np.nanmean(friction) / max(np.nanmean(np.abs(static)), 1e-9))


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


_SHAPE_WORDS = {
    "ascending": "gets heavier through the travel (ascending)",
    "descending": "gets lighter through the travel (descending)",
    "ascending-descending": "is heaviest in the middle and lighter at both ends (ascending-descending)",
    "descending-ascending": "is lightest in the middle and heavier at both ends (descending-ascending)",
    "flat": "is about the same throughout (flat)",
}


def summarize_findings(estimate: ProfileEstimate) -> list[Finding]:
    """Findings for every load, in the order a reader wants them."""
    out = []
    for k, load in enumerate(estimate.loads_kg):
        shape = describe_shape(estimate, k)
        at = f"At {load:g} kg the machine"
        out.append(Finding("shape", float(load), 0.0, f"{at} {_SHAPE_WORDS[shape.shape]}."))
        band = float(estimate.static_u95_n[k][int(np.nanargmax(estimate.static_n[k]))])
        out.append(
            Finding(
                "heaviest",
                float(load),
                shape.peak_n,
                f"It is heaviest at {plain_degrees(shape.peak_angle_deg)}: {force_text(shape.peak_n)}, "
                f"give or take {band:.1f} N.",
            )
        )
        out.append(
            Finding(
                "lightest",
                float(load),
                shape.low_n,
                f"It is lightest at {plain_degrees(shape.low_angle_deg)}: {force_text(shape.low_n)}.",
            )
        )
        if shape.drop_off_percent >= 100.0 * FLAT_SHARE:
            out.append(
                Finding(
                    "drop-off",
                    float(load),
                    shape.drop_off_percent / 100.0,
                    f"From its peak it drops off by {shape.drop_off_percent:.0f} % to "
                    f"{force_text(shape.end_n)} at the end of the travel.",
                )
            )
        share = friction_share(estimate, k)
        friction = newtons(float(np.nanmean(estimate.friction_n[k])))
        out.append(
            Finding(
                "friction",
                float(load),
                share,
                f"Friction takes {100 * share:.0f} %: it feels {friction} N heavier raising, "
                "and as much lighter lowering.",
            )
        )
        extra = inertia_at_tempo_n(estimate, k)
        if np.isfinite(extra):
            out.append(
                Finding(
                    "inertia",
                    float(load),
                    extra,
                    f"At the tempo used, starting the movement adds up to about {force_text(extra)} for a moment.",
                )
            )
    return out
