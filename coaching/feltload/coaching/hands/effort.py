"""What a set felt like: each repetition at its real tempo, taken apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from feltload.coaching.errors import OverlapError
from feltload.coaching.hands.motion import PersonMotion
from feltload.core import Flags, Floats
from feltload.signal import ProfileEstimate, Travel

if TYPE_CHECKING:
    import pandas as pd


MOMENTUM_SHARE = 0.1
"""Above this part of the static work, what the start gave the end is called momentum (our own convention)."""
FEWEST_SAMPLES = 10


@dataclass(frozen=True)
class RepetitionEffort:
    """The concentric phase of one repetition, taken apart.

    Attributes
    ----------
    index : int
        From 0.
    time_s, angle_rad, felt_n, static_n, friction_n, inertia_n : ndarray, shape (k,)
        Samples of the phase: force felt, and the machine's parts at that motion; the viscous part is in
        `friction_n`, the squared-rate part in `inertia_n`.
    along : Travel
        The machine's measured travel, which gives the handle's way.
    """

    index: int
    time_s: Floats
    angle_rad: Floats
    felt_n: Floats
    static_n: Floats
    friction_n: Floats
    inertia_n: Floats
    along: Travel

    @property
    def duration_s(self) -> float:
        """Of the phase, as far as it lies in the profiled range."""
        return float(self.time_s[-1] - self.time_s[0])

    @property
    def range_share(self) -> float:
        """Way of the handle as a part of the measured travel."""
        return float(np.ptp(self._way))

    @property
    def mean_speed_per_s(self) -> float:
        """The same over the duration."""
        return self.range_share / self.duration_s

    @property
    def mean_felt_n(self) -> float:
        """Mean force over the samples."""
        return float(self.felt_n.mean())

    @property
    def peak_felt_n(self) -> float:
        """Greatest force."""
        return float(self.felt_n.max())

    @property
    def start_added_n(self) -> float:
        """Mean inertia part over the first third of the travel: what setting the mass in motion cost."""
        return self._mean_inertia_n(self._travel_share <= 1 / 3)

    @property
    def end_relieved_n(self) -> float:
        """Mean relief by inertia over the last third: what the moving mass gave back."""
        return -self._mean_inertia_n(self._travel_share >= 2 / 3)

    @property
    def momentum_share(self) -> float:
        """Work that inertia took off the last third, as a fraction of the static work there."""
        late = self._travel_share >= 2 / 3
        step = np.gradient(self._way)
        static_work = float((self.static_n * step)[late].sum())
        return float(-(self.inertia_n * step)[late].sum()) / static_work if static_work > 0 else 0.0

    @property
    def by_momentum(self) -> bool:
        """Whether the end was carried by what the start gave."""
        return self.momentum_share > MOMENTUM_SHARE

    @property
    def _way(self) -> Floats:
        """Of the handle at each sample, in parts of the measured travel."""
        return self.along.shares(self.angle_rad)

    @property
    def _travel_share(self) -> Floats:
        return np.asarray((self._way - self._way.min()) / self.range_share)

    def _mean_inertia_n(self, mask: Flags) -> float:
        """Mean over the handle's way, not over time."""
        step = np.gradient(self._way)
        travel = float(step[mask].sum())
        return float((self.inertia_n * step)[mask].sum() / travel) if travel > 0 else 0.0


@dataclass(frozen=True)
class SetEffort:
    """A set: its repetitions, and how it changed.

    Attributes
    ----------
    repetitions : tuple of RepetitionEffort
        One at least.
    """

    repetitions: tuple[RepetitionEffort, ...]

    @property
    def speed_change(self) -> float:
        """Mean speed of the last repetition against the best before it, minus 1; 0 for a single one."""
        speed = [repetition.mean_speed_per_s for repetition in self.repetitions]
        return speed[-1] / max(speed[:-1]) - 1.0 if len(speed) > 1 else 0.0

    @property
    def range_change(self) -> float:
        """Travel of the last repetition against the first, minus 1."""
        return self.repetitions[-1].range_share / self.repetitions[0].range_share - 1.0

    @property
    def by_momentum(self) -> tuple[RepetitionEffort, ...]:
        """Repetitions whose end was carried by momentum."""
        return tuple(repetition for repetition in self.repetitions if repetition.by_momentum)

    def to_frame(self) -> pd.DataFrame:
        """One row a repetition, with its number from 1 and the scalar properties of `RepetitionEffort`."""
        import pandas as pd

        return pd.DataFrame(
            [
                {
                    "number": repetition.index + 1,
                    "concentric_s": repetition.duration_s,
                    "mean_felt_n": repetition.mean_felt_n,
                    "peak_felt_n": repetition.peak_felt_n,
                    "start_added_n": repetition.start_added_n,
                    "end_relieved_n": repetition.end_relieved_n,
                    "momentum_share": repetition.momentum_share,
                }
                for repetition in self.repetitions
            ]
        )


def set_effort(profile: ProfileEstimate, motion: PersonMotion, load_kg: float) -> SetEffort:
    """Take each repetition of a session apart by the machine's measured parts.

    Raises
    ------
    OverlapError
        When no repetition lies within the range that was profiled.
    """
    repetitions = []
    for index, (start, turn, _) in enumerate(motion.repetitions):
        inside = (motion.time_s >= start) & (motion.time_s <= turn)
        repetition = _taken_apart(profile, motion, load_kg, inside, index)
        if repetition is not None:
            repetitions.append(repetition)
    if not repetitions:
        raise OverlapError(
            "no repetition lies within the range that was profiled",
            remedy="profile this machine through the range that the client uses",
        )
    return SetEffort(tuple(repetitions))


def _taken_apart(
    profile: ProfileEstimate, motion: PersonMotion, load_kg: float, inside: Flags, index: int
) -> RepetitionEffort | None:
    """One repetition, None where too little of it lies in the profiled range."""
    angle, rate, accel = motion.angle_rad[inside], motion.rate_rad_s[inside], motion.accel_rad_s2[inside]
    static = profile.force_n(angle, 0.0, 0.0, load_kg)
    known = np.isfinite(static)
    if known.sum() < FEWEST_SAMPLES:
        return None
    slow = profile.force_n(angle, rate, 0.0, load_kg)
    still = profile.force_n(angle, 0.0, accel, load_kg)
    # The squared-rate part is even in the rate; friction and viscous parts are odd.
    backwards = profile.force_n(angle, -rate, 0.0, load_kg)
    squared = 0.5 * (slow + backwards) - static
    return RepetitionEffort(
        index=index,
        time_s=motion.time_s[inside][known],
        angle_rad=angle[known],
        felt_n=motion.force_n[inside][known],
        static_n=static[known],
        friction_n=(slow - static - squared)[known],
        inertia_n=(still - static + squared)[known],
        along=profile.travel,
    )
