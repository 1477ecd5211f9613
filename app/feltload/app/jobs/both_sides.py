"""Left and right arm of one machine, measured at once, and what differs between them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from feltload.app.jobs.comparing.common_positions import places
from feltload.app.jobs.comparing.records import difference_record

if TYPE_CHECKING:
    from feltload.acquisition import RecordingInfo
    from feltload.app.jobs.measuring.measurement import Measurement
    from feltload.coaching import ProfileDifference
    from feltload.signal import ProfileEstimate, SideDifference, Travel

FILE_NAME = "sides.json"
SIDES = ("left", "right")
ASSUMED = "Each side has its own cell, sensor and start angle: nothing of their uncertainty cancels in the difference."


@dataclass(frozen=True)
class ArmComparison:
    """The left arm of a machine compared with its right arm.

    Attributes
    ----------
    machine : str
    profiles : ProfileDifference
        Left minus right.
    travel : Travel
        Of the left arm, along which positions are given.
    repetitions : tuple of SideDifference
        A quantity of the repetitions each; empty where one side has too few.
    """

    machine: str
    profiles: ProfileDifference
    travel: Travel
    repetitions: tuple[SideDifference, ...]

    def to_dict(self) -> dict[str, object]:
        """Content of `sides.json`."""
        at = places(self.profiles.angle_rad, self.travel, None)
        return {
            "machine": self.machine,
            "difference": "left minus right",
            "assumed": ASSUMED,
            **at,
            "loads": [
                {"load_kg": float(load), **difference_record(self.profiles.of_load(k), at)}
                for k, load in enumerate(self.profiles.loads_kg)
            ],
            "repetitions": [dict(vars(row)) for row in self.repetitions],
        }


def arms_in(info: RecordingInfo) -> Sequence[str]:
    """Arms that a recording holds: both, the one that it says was moved, or none where sensors have no side."""
    if not {stream.side for stream in info.rig.streams}.issuperset(SIDES):
        return ()
    return SIDES if info.side is None else (info.side,)


def compare_arms(left: ProfileEstimate, right: ProfileEstimate) -> ArmComparison:
    """What differs between two arms that were measured at once."""
    from feltload.coaching import profile_difference
    from feltload.signal import compare_sides

    return ArmComparison(
        left.machine_name,
        profile_difference(left, right),
        left.travel,
        tuple(compare_sides([*left.repetitions, *right.repetitions])),
    )


def measure_arms(
    measure_side: Callable[..., Measurement], *, steps: int, advance: Callable[[float], None]
) -> dict[str, Measurement]:
    """Measure both arms, one after the other.

    Parameters
    ----------
    measure_side : callable
        Measures the arm ``side=...`` and reports its progress to ``advance=...``.
    steps : int
        Steps of progress of one arm.
    advance : callable
        Told how many of ``2 * steps`` are done.
    """

    def advance_from(begun: int) -> Callable[[float], None]:
        return lambda done: advance(begun + done)

    return {
        side: measure_side(side=side, advance=advance_from(number * steps))
        for number, side in enumerate(SIDES)
    }
