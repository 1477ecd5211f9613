"""What a set felt like: each repetition at its real tempo, taken apart."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.coaching.errors import OverlapError
from feltload.coaching.hands.motion import Motion
from feltload.core import Flags, Floats
from feltload.signal import ProfileEstimate

MOMENTUM_SHARE = 0.1
"""Above this part of the static work, what the start gave the end is called momentum (our own convention)."""


@dataclass(frozen=True)
class RepetitionEffort:
    """The concentric phase of one repetition, taken apart.

    Attributes
    ----------
    index : int
        From 0.
    angle_rad, felt_n, static_n, friction_n, inertia_n : ndarray, shape (k,)
        Samples of the phase: force felt, and the machine's parts at that motion; the viscous part is in
        `friction_n`, the squared-rate part in `inertia_n`.
    duration_s, mean_rate_rad_s, range_rad : float
    mean_felt_n, peak_felt_n : float
    start_added_n : float
        Mean inertia part over the first third of the travel: what setting the mass in motion cost.
    end_relieved_n : float
        Mean relief by inertia over the last third: what the moving mass gave back.
    momentum_share : float
        Work that inertia took off the last third, as a fraction of the static work there.
    """

    index: int
    angle_rad: Floats
    felt_n: Floats
    static_n: Floats
    friction_n: Floats
    inertia_n: Floats
    duration_s: float
    mean_rate_rad_s: float
    range_rad: float
    mean_felt_n: float
    peak_felt_n: float
    start_added_n: float
    end_relieved_n: float
    momentum_share: float

    @property
    def by_momentum(self) -> bool:
        """Whether the end was carried by what the start gave."""
        return self.momentum_share > MOMENTUM_SHARE


@dataclass(frozen=True)
class SetEffort:
    """A set: its repetitions and how it changed.

    Attributes
    ----------
    repetitions : tuple of RepetitionEffort
    speed_change : float
        Mean speed of the last repetition against the best before it, minus 1.
    range_change : float
        Travel of the last repetition against the first, minus 1.
    by_momentum : tuple of int
        Repetitions whose end was carried by momentum.
    """

    repetitions: tuple[RepetitionEffort, ...]
    speed_change: float
    range_change: float
    by_momentum: tuple[int, ...]

    def sentences(self) -> tuple[str, ...]:
        """The set in plain words."""
        count = len(self.repetitions)
        lines = [f"{count} repetition{'s' if count != 1 else ''}."]
        if count > 1:
            word = "slower" if self.speed_change < 0 else "faster"
            lines.append(
                f"The last was {abs(100 * self.speed_change):.0f} % {word} than the fastest before it."
            )
            if self.range_change < -0.05:
                lines.append(f"The last travelled {-100 * self.range_change:.0f} % less than the first.")
        if self.by_momentum:
            which = ", ".join(str(i + 1) for i in self.by_momentum)
            worst = max((self.repetitions[i] for i in self.by_momentum), key=lambda r: r.momentum_share)
            lines.append(
                f"Momentum carried the end of repetition {which}: at most {worst.end_relieved_n:.0f} N taken off the "
                f"last third, after {worst.start_added_n:.0f} N added in the first."
            )
        else:
            lines.append("No repetition was carried by momentum.")
        return tuple(lines)


def set_effort(profile: ProfileEstimate, motion: Motion, load_kg: float) -> SetEffort:
    """Take each repetition of a session apart by the machine's measured parts.

    Raises
    ------
    OverlapError
        When no repetition lies within the range that was profiled.
    """
    found = []
    for index, (start, turn, _) in enumerate(motion.repetitions):
        inside = (motion.time_s >= start) & (motion.time_s <= turn)
        effort = _one(profile, motion, load_kg, inside, index)
        if effort is not None:
            found.append(effort)
    if not found:
        raise OverlapError(
            "no repetition lies within the range that was profiled",
            remedy="profile this machine through the range that the client uses",
        )
    speed = np.array([r.mean_rate_rad_s for r in found])
    travel = np.array([r.range_rad for r in found])
    return SetEffort(
        repetitions=tuple(found),
        speed_change=float(speed[-1] / speed[:-1].max() - 1.0) if len(found) > 1 else 0.0,
        range_change=float(travel[-1] / travel[0] - 1.0),
        by_momentum=tuple(r.index for r in found if r.by_momentum),
    )


def _one(
    profile: ProfileEstimate, motion: Motion, load_kg: float, inside: Flags, index: int
) -> RepetitionEffort | None:
    angle, rate, accel = motion.angle_rad[inside], motion.rate_rad_s[inside], motion.accel_rad_s2[inside]
    static = profile.force_n(angle, 0.0, 0.0, load_kg)
    known = np.isfinite(static)
    if known.sum() < 10:
        return None
    slow = profile.force_n(angle, rate, 0.0, load_kg)
    still = profile.force_n(angle, 0.0, accel, load_kg)
    # The squared-rate part is even in the rate; friction and viscous parts are odd.
    backwards = profile.force_n(angle, -rate, 0.0, load_kg)
    squared = 0.5 * (slow + backwards) - static
    friction = (slow - static - squared)[known]
    inertia = (still - static + squared)[known]
    static = static[known]
    felt, angle, time = motion.force_n[inside][known], angle[known], motion.time_s[inside][known]
    travel = float(angle.max() - angle.min())
    part = (angle - angle.min()) / travel
    early, late = part <= 1 / 3, part >= 2 / 3
    step = np.gradient(angle)
    relief_work = float(-(inertia * step)[late].sum())
    static_work = float((static * step)[late].sum())
    return RepetitionEffort(
        index=index,
        angle_rad=angle,
        felt_n=felt,
        static_n=static,
        friction_n=friction,
        inertia_n=inertia,
        duration_s=float(time[-1] - time[0]),
        mean_rate_rad_s=travel / float(time[-1] - time[0]),
        range_rad=travel,
        mean_felt_n=float(felt.mean()),
        peak_felt_n=float(felt.max()),
        start_added_n=_by_travel(inertia, step, early),
        end_relieved_n=-_by_travel(inertia, step, late),
        momentum_share=relief_work / static_work if static_work > 0 else 0.0,
    )


def _by_travel(force: Floats, step: Floats, mask: Flags) -> float:
    travel = float(step[mask].sum())
    return float((force * step)[mask].sum() / travel) if travel > 0 else 0.0
