"""Everything that a page needs of a running recording, as one frozen value; forces in N, angles in rad."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal

from feltload.acquisition import StreamStatus
from feltload.app.running.enough import Enough, Speed
from feltload.app.running.marked import Marked, Trouble
from feltload.app.scripts.moment import ScriptState
from feltload.core import Fact


class LivePhase(StrEnum):
    """Where a recording is."""

    CONNECTING = "connecting"
    TARE = "tare"
    """Hands off, arm on its stop: the zero is taken."""

    RECORDING = "recording"
    ENDED = "ended"
    """The file is closed; `LiveState.ended`."""

    FAILED = "failed"
    """Nothing more comes: `LiveState.trouble` says why and `LiveState.path` what is kept."""


@dataclass(frozen=True)
class Pass:
    """One way through the travel: half a repetition.

    Attributes
    ----------
    number : int
        From 0, in order of time.
    raising : bool
        Away from the start stop.
    speed : Speed
    q_rad, force_n : tuple of float
        Rotation from the start stop and force at the handle, some hundred points at most; the tare is taken off.
    """

    number: int
    raising: bool
    speed: Speed
    q_rad: tuple[float, ...]
    force_n: tuple[float, ...]


@dataclass(frozen=True)
class Coverage:
    """How often each part of the travel was passed, by direction and speed; all arrays of one length.

    Attributes
    ----------
    edges_rad : tuple of float
        Edges of equal parts from the start stop to the furthest rotation seen; one more than the counts.
    raising_slow, raising_brisk, lowering_slow, lowering_brisk : tuple of int
        Passes through the whole of each part.
    """

    edges_rad: tuple[float, ...] = ()
    raising_slow: tuple[int, ...] = ()
    raising_brisk: tuple[int, ...] = ()
    lowering_slow: tuple[int, ...] = ()
    lowering_brisk: tuple[int, ...] = ()


@dataclass(frozen=True)
class ArmState:
    """One arm of the machine.

    Attributes
    ----------
    side : {"left", "right"} or None
        None where the machine has one.
    force_stream, inertial_stream : str or None
        Their names; None where the rig has none.
    force_known : bool
        False while the readings cannot be made a force (counts without a certificate).
    zero_n : float
        Taken off the readings; NaN until the hands-off rest is over.
    peak_n : float
        Greatest force so far; NaN without.
    position_known : bool
        False until the arm has turned enough for the hinge to be found.
    passes : tuple of Pass
        Those that are over, the oldest first; the newest 60.
    coverage : Coverage
    enough : Enough or None
        None until the estimator has answered once, and for recordings of a person.
    facts : tuple of Fact
        What was found wrong with its zero and its motion.
    """

    side: Literal["left", "right"] | None
    force_stream: str | None
    inertial_stream: str | None
    force_known: bool = True
    zero_n: float = math.nan
    peak_n: float = math.nan
    position_known: bool = False
    passes: tuple[Pass, ...] = ()
    coverage: Coverage = field(default_factory=Coverage)
    enough: Enough | None = None
    facts: tuple[Fact, ...] = ()


@dataclass(frozen=True)
class LiveState:
    """A recording at one moment.

    Attributes
    ----------
    version : int
        Greater in every newer state.
    phase : LivePhase
    path : str
        File that grows, or that is replayed.
    replayed : bool
    invented : bool
        The rig is emulated.
    machine_name : str
    kind : {"machine", "holds", "helped"}
    load_kg : float or None
    load_stated : str
    start_angle_rad : float
        Elevation of the handle's line on the start stop; ``angle = start_angle + q``.
    script : ScriptState or None
        What is asked for now and all steps; None while connecting.
    arms : tuple of ArmState
        One, or left and right.
    sensors : tuple of StreamStatus
        Every stream: rate, what was lost, trouble, latest values.
    marks : tuple of Marked
    start_ns : int or None
        Host time from which marks count.
    facts : tuple of Fact
        What is missing or wrong now, the most serious first.
    ended_facts : tuple of Fact
        With "ended": what was not as it should be.
    trouble : Trouble or None
        With "failed", and with "ended" where something ended it early.
    """

    version: int
    phase: LivePhase
    path: str
    replayed: bool
    invented: bool
    machine_name: str
    kind: str
    load_kg: float | None
    load_stated: str
    start_angle_rad: float
    script: ScriptState | None = None
    arms: tuple[ArmState, ...] = ()
    sensors: tuple[StreamStatus, ...] = ()
    marks: tuple[Marked, ...] = ()
    start_ns: int | None = None
    facts: tuple[Fact, ...] = ()
    ended_facts: tuple[Fact, ...] = ()
    trouble: Trouble | None = None

    @property
    def enough(self) -> Enough | None:
        """Of the arm whose band is the widest; None until all have one."""
        known = [arm.enough for arm in self.arms if arm.enough is not None]
        if not known or len(known) < len(self.arms):
            return None
        return min(
            known, key=lambda each: (each.is_enough, -math.inf if not each.angle_rad else -each.band_share)
        )

    @property
    def is_over(self) -> bool:
        """Whether nothing more comes."""
        return self.phase in (LivePhase.ENDED, LivePhase.FAILED)
