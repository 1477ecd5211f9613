"""What the measure page is told: the whole, what is said, and what moves, as small JSON."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from feltload.acquisition import HealthFact
from feltload.app.running.moving import ArmMoving, HandsNow, Moving
from feltload.app.running.state import ArmState, LivePhase, LiveState
from feltload.app.scripts.moment import STOPPED
from feltload.app.text.facts import describe, describe_fully
from feltload.app.text.live import measure as words
from feltload.app.text.live.hands import doubt_text
from feltload.app.text.numbers import ForceUnit, force_unit
from feltload.app.text.person.moments import OVERLOADED, Controls, moment_headline
from feltload.core import Fact
from feltload.signal import Travel

TAPS = Controls(go_on=words.TAP_GO_ON, end=words.TAP_END, zero_after=words.TAP_ZERO_AFTER)
FEW_LOST = 0.005
"""Share of a sensor's samples that may be lost without a remark: single ones are bridged (our own choice)."""
_PLACES = {ForceUnit.NEWTON: 0, ForceUnit.KILOGRAM_FORCE: 1, ForceUnit.POUND_FORCE: 1}


def units() -> tuple[dict[str, Any], dict[str, Any]]:
    """The unit in which forces are shown, and the one beside it."""
    return _unit(force_unit()), _unit(force_unit().beside)


def passes_told(arm: ArmState) -> list[dict[str, Any]]:
    """Passes that are over."""
    return [
        {
            "id": one.number,
            "up": one.raising,
            "q": [round(q, 4) for q in one.q_rad],
            "f": [round(force, 1) for force in one.force_n],
        }
        for one in arm.passes
    ]


def moving_told(moving: Moving, state: LiveState) -> dict[str, Any]:
    """What moves, of each arm; what a sensor that is lost read last is not told as what is now."""
    if not moving.arms:
        return {}
    lost = {stream.name for stream in state.sensors if not stream.connected}
    told: dict[str, Any] = {
        "arms": [_arm_told(now, arm, lost) for now, arm in zip(moving.arms, state.arms, strict=True)],
    }
    if moving.beat is not None:
        told["beat"] = {"raising": moving.beat.raising, "share": round(moving.beat.share, 3)}
    if moving.hands is not None:
        told["hands"] = _hands_told(moving.hands)
    return told


def _arm_told(now: ArmMoving, arm: ArmState, lost: set[str]) -> dict[str, Any]:
    told: dict[str, Any] = {
        "t": _number(now.time_s, 3),
        "f": None if arm.force_stream in lost else _number(now.force_n, 1),
        "q": None if arm.inertial_stream in lost else _number(now.q_rad, 4),
        "up": now.raising,
    }
    if arm.coverage.edges_rad:
        told["most"] = round(arm.coverage.edges_rad[-1], 4)
    if now.curve_q_rad:
        told["pass"] = {
            "id": now.pass_number,
            "up": now.raising is not False,
            "from": now.curve_from,
            "q": [round(q, 4) for q in now.curve_q_rad],
            "f": [round(force, 1) for force in now.curve_force_n],
        }
    return told


def said(state: LiveState, moving: Moving, along: Travel | None) -> dict[str, Any]:
    """What is said at this moment."""
    return {
        "headline": headline(state, moving, along),
        "stop": _is_stopped(state),
        "helped": state.kind == "helped" and not state.is_over,
        "idle": False,
        "arms": [_arm_said(arm, now, state) for arm, now in zip(state.arms, moving.arms, strict=False)],
        "enough": _enough(state),
        "wrong": [describe_fully(fact) for fact in state.facts if not _is_little(fact, state)],
        "sensors": [
            words.sensor_text(stream, "" if stream.trouble is None else describe(stream.trouble))
            for stream in state.sensors
        ],
    }


def idle_said() -> dict[str, Any]:
    """What is said while nothing is recorded."""
    return {"headline": words.NOTHING, "idle": True}


def _arm_said(arm: ArmState, now: ArmMoving, state: LiveState) -> dict[str, Any]:
    place = ""
    lost = any(stream.name == arm.inertial_stream and not stream.connected for stream in state.sensors)
    if math.isfinite(now.q_rad) and not lost:
        most = arm.coverage.edges_rad[-1] if arm.coverage.edges_rad else math.nan
        place = words.place_text(
            now.q_rad / most if most > 0.0 else math.nan, state.start_angle_rad + now.q_rad
        )
    rows = _coverage(arm)
    side = words.side_text(arm.side)
    return {
        "side": side,
        "place": place,
        "coverage": rows or None,
        "coverageText": words.coverage_text(rows),
        "alt": words.board_text(place, now.force_n, side),
    }


def headline(state: LiveState, moving: Moving, along: Travel | None) -> str:
    """One sentence for the moment."""
    if state.phase is LivePhase.FAILED:
        return "" if state.trouble is None else str(state.trouble.error())
    if state.phase is LivePhase.ENDED:
        return words.OVER
    if state.phase is LivePhase.CONNECTING:
        return words.CONNECTING
    if any(stream.overloaded for stream in state.sensors):
        return OVERLOADED
    if state.phase is LivePhase.TARE:
        return words.tare_text(moving.left_s)
    if state.script is None:
        return ""
    waits = math.isnan(state.script.moment.left_s)
    moment = replace(state.script.moment, beat=moving.beat, left_s=math.nan if waits else moving.left_s)
    return moment_headline(moment, along, TAPS)


def _is_little(fact: Fact, state: LiveState) -> bool:
    """Whether it is about so few lost samples that the line of their sensor says enough."""
    if fact.kind != HealthFact.SAMPLES_MISSING:
        return False
    sent = max((sensor.health.samples for sensor in state.sensors if sensor.name == fact.stream), default=0)
    return fact.figure("count") < FEW_LOST * sent


def _is_stopped(state: LiveState) -> bool:
    asked = None if state.script is None else state.script.moment.ask
    return asked in STOPPED or any(stream.overloaded for stream in state.sensors)


def _coverage(arm: ArmState) -> list[list[int]]:
    covered = arm.coverage
    up = [a + b for a, b in zip(covered.raising_slow, covered.raising_brisk, strict=True)]
    down = [a + b for a, b in zip(covered.lowering_slow, covered.lowering_brisk, strict=True)]
    return [up, down] if up else []


def _enough(state: LiveState) -> Sequence[str]:
    judged = state.enough
    if judged is None:
        return []
    worst = (
        next((arm.side for arm in state.arms if arm.enough is judged), None) if len(state.arms) > 1 else None
    )
    lines = [
        words.band_text(
            judged.band_share, judged.repetitions, enough=judged.is_enough, side=words.side_text(worst)
        )
    ]
    if not judged.is_enough:
        lines += [words.more_text(more) for more in judged.outlook[:1]]
    # There is one recording here: its path says nothing to whoever stands beside the machine.
    lines += [describe_fully(replace(fact, session="")) for fact in judged.facts[:3]]
    return [line for line in lines if line]


def _hands_told(hands: HandsNow) -> dict[str, Any]:
    return {
        "planned": _number(hands.planned_n, 1),
        "given": _number(hands.given_n, 1),
        "u": _number(hands.u95_n, 1),
        "doubt": None if hands.doubt is None else doubt_text(hands.doubt),
    }


def _unit(unit: ForceUnit) -> dict[str, Any]:
    return {"name": str(unit), "newtons": unit.newtons, "decimals": _PLACES[unit]}


def _number(value: float, places: int) -> float | None:
    return round(value, places) if math.isfinite(value) else None
