"""How an emulated person uses a machine: rests, repetitions, holds and the bad habits among them.

Tempo, unsteadiness and bad habits are ours: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.random import Generator

from feltload.core import InputError
from feltload.emulator.people.trajectory import Track

Tempo = Literal["slow", "brisk", "mixed"]

# Seconds for raising and for lowering over the whole travel, as a trainer would count them.
_SECONDS = {
    "slow": ((2.8, 4.2), (3.0, 4.8)),
    "medium": ((1.5, 2.3), (1.8, 2.8)),
    "brisk": ((0.75, 1.2), (0.9, 1.5)),
}
_MIXED = ("slow", "medium", "brisk", "medium")


@dataclass(frozen=True)
class Person:
    """Habits of an emulated person.

    Parameters
    ----------
    tempo : {"slow", "brisk", "mixed"}
    repetitions : int
    rest_s : float
        Hands off, arm on the stop, before the first repetition.
    end_rest_s : float
        The same after the last one.
    pause_s : float
        Longest pause at either end of a repetition.
    tremor_deg, sway_deg : float
        Amplitude of the fast (7-11 Hz) and the slow (1-2.5 Hz) unsteadiness of the lever.
    wobble_deg, lean_deg : float
        Angle between pull and line of pull: its standard deviation, and its mean where the cell hangs askew.
    reach : (float, float)
        Lowest and highest end of the top turning point, as shares of the travel.
    bottom : (float, float)
        Range of the bottom turning point, as shares of the travel.
    touch_share, partial_share, cheat_share, knock_share, letgo_share : float
        Share of repetitions that set down on the stop, stay partial, start with momentum, hit the stop,
        or after which the hands leave the handle.
    handle_knocks : int
        Deliberate knocks on the handle before the first repetition.
    holds : tuple of float
        Positions (shares of the travel) of isometric holds against a blocked arm.
    hold_s : float
        Length of each hold.
    swing_deg : float
        More than 0: nobody trains; the arm, its stops taken away, is let go so far from where it hangs.
    swing_s : float
        Length of that swing.
    """

    tempo: Tempo = "mixed"
    repetitions: int = 9
    rest_s: float = 3.0
    end_rest_s: float = 2.0
    pause_s: float = 0.5
    tremor_deg: float = 0.004
    sway_deg: float = 0.12
    wobble_deg: float = 1.0
    lean_deg: float = 0.0
    reach: tuple[float, float] = (0.93, 0.99)
    bottom: tuple[float, float] = (0.0, 0.03)
    touch_share: float = 0.3
    partial_share: float = 0.0
    cheat_share: float = 0.0
    knock_share: float = 0.0
    letgo_share: float = 0.0
    handle_knocks: int = 0
    holds: tuple[float, ...] = ()
    hold_s: float = 4.0
    swing_deg: float = 0.0
    swing_s: float = 12.0


@dataclass(frozen=True)
class Span:
    """A stretch of the session: what was being done, and in which repetition (0: none)."""

    kind: str
    start_s: float
    end_s: float
    repetition: int = 0


@dataclass(frozen=True)
class Plan:
    """What the person will do.

    Attributes
    ----------
    path : Track
        Joint position, rad.
    borne : Track
        Share of the load that stop or pin bears, 0 (all in the hands) to 1 (hands off).
    push : Track
        Force put on the blocked handle during isometric holds, as a share of capacity.
    spans : tuple of Span
    handle_knocks_s : tuple of float
        Times of deliberate knocks.
    """

    path: Track
    borne: Track
    push: Track
    spans: tuple[Span, ...]
    handle_knocks_s: tuple[float, ...]

    @property
    def duration_s(self) -> float:
        return self.path.time_s


def plan_session(person: Person, travel_rad: float, rng: Generator) -> Plan:
    """Draw one session of this person on a machine of this travel."""
    path, borne, push = Track(0.0), Track(1.0), Track(0.0)
    spans: list[Span] = []

    def note(kind: str, start_s: float, repetition: int = 0) -> None:
        spans.append(Span(kind, start_s, path.time_s, repetition))

    knocks = tuple(1.2 + 0.9 * k + float(rng.uniform(0.0, 0.3)) for k in range(person.handle_knocks))
    path.hold(max(person.rest_s, (knocks[-1] + 1.5) if knocks else 0.0))
    note("rest", 0.0)
    for index, share in enumerate(person.holds, start=1):
        _hold(path, borne, push, share * travel_rad, person.hold_s, rng)
        note("isometric", path.time_s - person.hold_s, index)
        path.hold(float(rng.uniform(1.5, 2.5)))
    if person.holds:
        start = path.time_s
        path.move(0.0, 2.0)
        note("place", start)
    on_stop = True
    for number in range(1, person.repetitions + 1):
        on_stop = _repeat(person, path, borne, spans, travel_rad, number, on_stop, rng)
    start = path.time_s
    path.hold(person.end_rest_s)
    note("rest", start)
    borne.hold_until(path.time_s)
    push.hold_until(path.time_s)
    return Plan(path, borne, push, tuple(spans), knocks)


def lasting(person: Person, travel_rad: float, duration_s: float, *, seed: int) -> Person:
    """The same person with as many repetitions as fit, resting hands off until `duration_s` is full.

    Raises
    ------
    InputError
        If not even one repetition fits.
    """
    best: Person | None = None
    for repetitions in range(1, 1000):
        trial = replace(person, repetitions=repetitions)
        left_s = duration_s - plan_session(trial, travel_rad, np.random.default_rng(seed)).duration_s
        if left_s < 0.0:
            break
        best = replace(trial, end_rest_s=trial.end_rest_s + left_s)
    if best is None:
        raise InputError(f"no repetition fits into {duration_s:g} s", remedy="choose a longer session")
    return best


def _hold(path: Track, borne: Track, push: Track, q_rad: float, hold_s: float, rng: Generator) -> None:
    """Pin the arm at `q_rad` and push against it: the pin bears the machine, the hands their own push."""
    path.move(q_rad, 2.0)
    path.hold(0.8)
    push.hold_until(path.time_s)
    effort = float(rng.uniform(0.96, 1.0))
    push.move(effort, 0.8)
    push.move(effort * float(rng.uniform(0.95, 0.99)), hold_s - 1.4)
    push.move(0.0, 0.6)
    path.hold(hold_s)
    borne.hold_until(path.time_s)


def _repeat(
    person: Person,
    path: Track,
    borne: Track,
    spans: list[Span],
    travel_rad: float,
    number: int,
    on_stop: bool,
    rng: Generator,
) -> bool:
    pace = person.tempo if person.tempo != "mixed" else _MIXED[(number - 1) % len(_MIXED)]
    raise_s, lower_s = (float(rng.uniform(*limits)) for limits in _SECONDS[pace])
    last = number == person.repetitions
    cheat = rng.random() < person.cheat_share
    partial = rng.random() < person.partial_share
    knock = rng.random() < person.knock_share
    lets_go = rng.random() < person.letgo_share
    touch = last or knock or lets_go or rng.random() < person.touch_share
    if on_stop:
        start = path.time_s
        take_s = float(rng.uniform(0.3, 0.6))
        path.hold(take_s + 0.1)
        borne.hold_until(start)
        borne.move(0.0, take_s)
        spans.append(Span("take", start, path.time_s, number))
    top = (
        float(rng.uniform(*person.reach)) * (float(rng.uniform(0.55, 0.75)) if partial else 1.0) * travel_rad
    )
    scale = (top - path.value) / travel_rad
    start = path.time_s
    early = 0.18 if cheat else float(rng.uniform(-0.05, 0.07))
    path.move(
        top,
        max(0.5, raise_s * scale * (0.8 if cheat else 1.0)),
        early=early,
        uneven=float(rng.uniform(-0.03, 0.03)),
    )
    spans.append(Span("raise", start, path.time_s, number))
    if person.pause_s > 0:
        start = path.time_s
        path.hold(float(rng.uniform(0.02, person.pause_s)))
        spans.append(Span("hold", start, path.time_s, number))
    start = path.time_s
    down = 0.0 if touch else float(rng.uniform(*person.bottom)) * travel_rad
    duration = max(0.5, lower_s * (top - down) / travel_rad)
    shape = {"early": float(rng.uniform(-0.06, 0.05)), "uneven": float(rng.uniform(-0.03, 0.03))}
    if knock:
        speed = float(rng.uniform(0.15, 0.5))
        path.move(0.0, duration, end_rate=-speed, **shape)
        spans.append(Span("lower", start, path.time_s, number))
        start = path.time_s
        # Rubber gives, throws back and settles within a few hundredths of a second.
        squeeze = float(rng.uniform(0.012, 0.02))
        path.move(-0.35 * speed * squeeze, squeeze)
        path.move(0.0, 2.0 * squeeze)
        spans.append(Span("knock", start, path.time_s, number))
    else:
        path.move(down, duration, **shape)
        spans.append(Span("lower", start, path.time_s, number))
    if touch:
        _set_down(person, path, borne, spans, number, knock, last or lets_go, rng)
        return True
    if person.pause_s > 0:
        start = path.time_s
        path.hold(float(rng.uniform(0.02, 0.6 * person.pause_s)))
        spans.append(Span("hold", start, path.time_s, number))
    return False


def _set_down(
    person: Person,
    path: Track,
    borne: Track,
    spans: list[Span],
    number: int,
    knock: bool,
    hands_off: bool,
    rng: Generator,
) -> None:
    """Hand part of the load to the stop, or all of it when the hands leave the handle."""
    start = path.time_s
    contact = spans[-1].start_s if knock else start
    borne.hold_until(contact)
    share = 1.0 if hands_off else float(rng.uniform(0.3, 0.95))
    borne.move(share, 0.05 if knock else float(rng.uniform(0.15, 0.35)))
    path.hold(max(0.4, borne.time_s - start) + float(rng.uniform(0.05, 0.1 + person.pause_s)))
    spans.append(Span("hands-off" if hands_off else "touch", start, path.time_s, number))
