"""The state of a recording, kept up to date from the recorder's events."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from feltload.acquisition import Mark, RecordingInfo
from feltload.app.live.recorder.messages import Arrived, Began, Ended, Event, Failed, Status
from feltload.app.live.state.hands import Hands
from feltload.app.live.state.streams import Streams
from feltload.app.running.enough import Enough
from feltload.app.running.marked import Marked
from feltload.app.running.moving import ArmMoving, HandsNow, Moving, Update
from feltload.app.running.state import LivePhase, LiveState
from feltload.app.scripts.moment import Beat
from feltload.app.sessions.script_choice import PreparedScript
from feltload.calibration import parse_machine, reference_of
from feltload.core import Fact, Severity

_WEIGHT = {Severity.SERIOUS: 0, Severity.CAUTION: 1, Severity.NOTE: 2}


class StateKeeper:
    """Takes events and decoded samples, and gives states.

    Parameters
    ----------
    info : RecordingInfo
    path : str
        File that grows, or that is replayed.
    replayed : bool
    prepared : PreparedScript, optional
        What a helped set goes by.
    """

    def __init__(
        self, info: RecordingInfo, path: str, *, replayed: bool, prepared: PreparedScript | None = None
    ) -> None:
        machine = parse_machine(info.machine_toml or "", "machine")
        self._info = info
        self._streams: Streams | None = None
        self._status_at_s = 0.0
        self._passes: tuple[int, ...] = ()
        self._heard_ns = 0
        self.state = LiveState(
            version=1,
            phase=LivePhase.CONNECTING,
            path=path,
            replayed=replayed,
            invented=info.rig.invented,
            machine_name=machine.name,
            kind=info.kind or "machine",
            load_kg=info.load_kg,
            load_stated=info.load_stated,
            start_angle_rad=reference_of(machine).start_angle_rad,
        )
        self._hands: Hands | None = None
        if info.kind == "helped":
            profile, plan = (None, None) if prepared is None else (prepared.profile, prepared.help_plan)
            self._hands = Hands(profile, plan, info.load_kg or 0.0, self.state.start_angle_rad)

    @property
    def heard_ns(self) -> int:
        """Host time of the newest bytes."""
        return self._heard_ns

    @property
    def streams(self) -> Streams | None:
        """What decodes; None before the recording has begun."""
        return self._streams

    def take(self, event: Event) -> None:
        """Take an event; samples are decoded by the next `decode`."""
        state = self.state
        match event:
            case Began():
                self._begin(event.start_ns)
            case Arrived():
                if self._streams is not None and event.messages:
                    self._streams.take(event.channel, event.messages)
                    self._heard_ns = max(self._heard_ns, event.messages[-1][0])
            case Marked():
                self._change(marks=(*state.marks, event))
            case Status():
                self._status_at_s = event.status.elapsed_s
                self._change(
                    phase=LivePhase(event.status.phase),
                    sensors=event.status.streams,
                    script=event.script,
                )
            case Ended():
                self._change(
                    phase=LivePhase.ENDED, path=event.path, ended_facts=event.facts, trouble=event.fault
                )
            case Failed():
                self._change(phase=LivePhase.FAILED, path=event.kept, trouble=event.trouble)
            case _:
                self._change(marks=event.marks)
                if event.start_ns is not None:
                    self._begin(event.start_ns)

    def decode(self) -> bool:
        """Decode what arrived since; whether a cell read above its rated capacity."""
        if self._streams is None or not self._streams.decode(self._marks()):
            return False
        if self._hands is not None:
            self._hands.follow(self._streams.arms[0])
        passes = tuple(arm.pass_number for arm in self._streams.arms)
        if passes != self._passes:
            self._passes = passes
            self._change()
        return self._streams.overloaded

    @property
    def repetitions(self) -> int:
        """There and back, of the arm that did most."""
        lowered = [sum(not each.raising for each in arm.passes) for arm in self.state.arms]
        return max(lowered, default=0)

    def assess(self, enough: Sequence[Enough]) -> None:
        """Take what the estimator says of each arm."""
        if self._streams is not None:
            for arm, each in zip(self._streams.arms, enough, strict=True):
                arm.enough = each
            self._change()

    def update(self, viewer: Viewer) -> Update:
        """What a viewer has not seen yet."""
        state = self.state if viewer.version != self.state.version else None
        viewer.version = self.state.version
        arms = [] if self._streams is None else self._streams.arms
        moving = []
        for place, arm in enumerate(arms):
            number, seen = viewer.seen.get(place, (0, 0))
            now = arm.moving(number, seen)
            viewer.seen[place] = now.pass_number, now.curve_from + len(now.curve_q_rad)
            moving.append(now)
        return Update(self._moving(tuple(moving)), state)

    def _moving(self, arms: tuple[ArmMoving, ...]) -> Moving:
        script, elapsed_s = self.state.script, self._elapsed_s()
        since_s = max(0.0, elapsed_s - self._status_at_s)
        return Moving(
            version=self.state.version,
            elapsed_s=elapsed_s,
            beat=None if script is None else _beat_later(script.moment.beat, since_s),
            left_s=math.nan if script is None else max(0.0, script.moment.left_s - since_s),
            arms=arms,
            hands=self._hands_now(),
        )

    def _hands_now(self) -> HandsNow | None:
        if self._hands is None or self._streams is None or self.state.start_ns is None:
            return None
        arm = self._streams.arms[0]
        return self._hands.now(arm, start_ns=self.state.start_ns, replayed=self.state.replayed)

    def _elapsed_s(self) -> float:
        newest = (
            0.0 if self._streams is None else max((arm.last_s for arm in self._streams.arms), default=0.0)
        )
        return max(self._status_at_s, newest)

    def _begin(self, start_ns: int) -> None:
        self._streams = Streams(self._info, start_ns)
        self._change(start_ns=start_ns)

    def _marks(self) -> tuple[Mark, ...]:
        start_ns = self.state.start_ns or 0
        return tuple(
            Mark(
                mark.kind,
                (mark.host_ns - start_ns) * 1e-9,
                None if mark.until_ns is None else (mark.until_ns - start_ns) * 1e-9,
                mark.text,
            )
            for mark in self.state.marks
        )

    def _change(self, **changes: object) -> None:
        arms = () if self._streams is None else tuple(arm.state() for arm in self._streams.arms)
        state = replace(self.state, version=self.state.version + 1, arms=arms, **changes)  # type: ignore[arg-type]
        self.state = replace(state, facts=_facts(state))


class Viewer:
    """What one viewer has seen."""

    def __init__(self) -> None:
        self.version = 0
        self.seen: dict[int, tuple[int, int]] = {}


def _facts(state: LiveState) -> tuple[Fact, ...]:
    facts = [
        *(replace(one.trouble, stream=one.name) for one in state.sensors if one.trouble is not None),
        *(fact for arm in state.arms for fact in arm.facts),
        *(fact for stream in state.sensors for fact in stream.health.facts()),
    ]
    return tuple(sorted(facts, key=lambda fact: _WEIGHT[fact.severity]))


def _beat_later(beat: Beat | None, since_s: float) -> Beat | None:
    if beat is None:
        return None
    at = beat.share + since_s / beat.half_s
    halves = int(at)
    return Beat(beat.raising is (halves % 2 == 0), at - halves, beat.half_s)
