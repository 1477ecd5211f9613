"""Sentences of the facts of `feltload.signal`."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from feltload.app.text import findings
from feltload.app.text.common import Sentence, numbers_in
from feltload.app.text.numbers import degrees, force_with_band, short_force, signed_force
from feltload.core import Fact
from feltload.signal import (
    AlignmentFact,
    ClockFact,
    HingeFact,
    NoZero,
    ZeroFact,
)

_RESTARTS = {
    "device": "the device clock restarted or jumped",
    "sequence": "the sequence restarted or jumped",
}


def _restarted(fact: Fact) -> str:
    what, count = _RESTARTS.get(str(fact.figures["counter"]), "samples were lost"), fact.figure("count")
    if count == 1:
        return f"{what} at {_at(fact):.2f} s; counted again from there"
    first, last = fact.span_s or (0.0, 0.0)
    return f"{what} {count:.0f} times from {first:.2f} s to {last:.2f} s; counted again from there each time"


def _inclined(fact: Fact) -> str:
    stated = "stated_rad" in fact.figures
    file = f"has {degrees(fact.figure('stated_rad'))}" if stated else "does not state an inclination"
    forces = "the forces that it predicts" if stated else "forces predicted for a level hinge"
    return (
        f"the hinge is inclined by {degrees(fact.figure('measured_rad'))} against the horizontal, and the machine file "
        f"{file}: {forces} are off by {100 * abs(fact.figure('share')):.0f} %; measure the inclination and write "
        "hinge_inclination in the file"
    )


def _force(fact: Fact, name: str) -> str:
    """The size of a force that a fact carries."""
    return short_force(abs(fact.figure(name)))


_NO_ZERO: Mapping[str, Sentence] = {
    NoZero.TOO_SHORT: lambda fact: "the force stream is too short to find a hands-off window",
    NoZero.WINDOWS_DIFFER: lambda fact: (
        f"the two hands-off windows differ by {_force(fact, 'difference_n')}, so something was held in the "
        f"{'first' if fact.figure('difference_n') < 0 else 'last'}"
    ),
    NoZero.REST_FAR_BELOW: lambda fact: (
        f"at rest on the stop the force is {_force(fact, 'below_n')} below that of the marked hands-off window, "
        "so something was held or hung on in that window"
    ),
    NoZero.NO_WINDOW: lambda fact: "no hands-off window at the start or the end",
    NoZero.WANDERS: lambda fact: "the force wanders during the hands-off window as if something were held",
    NoZero.RESTS_DIFFER: lambda fact: (
        f"the force at rest is {_force(fact, 'difference_n')} "
        f"{'higher' if fact.figure('difference_n') > 0 else 'lower'} at the end than at the start, so something was "
        "held at one of them, or the cell's zero drifted by as much"
    ),
    NoZero.FALLS_NEAR_STOP: lambda fact: (
        f"the force falls {_force(fact, 'below_n')} below its level at rest close to the stop, so something was "
        "held"
    ),
    NoZero.REST_ABOVE_LOWEST: lambda fact: (
        f"the force at rest at the {fact.figures['where']} is {_force(fact, 'above_n')} above the lowest, so "
        "something may have been held"
    ),
}


def _at(fact: Fact) -> float:
    return float("nan") if fact.span_s is None else fact.span_s[0]


def _from_to(fact: Fact, *, decimals: int = 2) -> str:
    first, last = fact.span_s or (float("nan"), float("nan"))
    return f"from {first:.{decimals}f} s to {last:.{decimals}f} s"


def _turned_deg(fact: Fact) -> float:
    return float(np.degrees(fact.figure("turned_rad")))


def _wild_samples(fact: Fact) -> str:
    count = int(fact.figure("count"))
    return (
        f"the gyroscope sent {count} wild sample{'s' if count > 1 else ''}, the first at {_at(fact):.2f} s, replaced "
        "from the neighbours: check the sensor's wiring"
    )


def _unmarked(fact: Fact) -> str:
    where = fact.figures["where"]
    source = (
        "level stretches at the start and the end"
        if where == "both"
        else f"a still stretch at the {where}, as hands off"
    )
    return f"the zero was not marked; it was taken from {source}"


def _lags_disagree(fact: Fact) -> str:
    methods = fact.figures.get("methods", ())
    readings = zip(
        methods if isinstance(methods, tuple) else (),
        numbers_in(fact, "lag_s"),
        numbers_in(fact, "u_s"),
        strict=True,
    )
    listed = ", ".join(f"{method} {1e3 * lag:.1f}({1e3 * u:.1f}) ms" for method, lag, u in readings)
    return f"the ways to find the lag disagree: {listed}"


def _zero_drift(fact: Fact) -> str:
    sure = (
        ", as the zero taken afterwards says too"
        if fact.figures["checked"]
        else "; a zero taken again afterwards (hands off, marked) tells whether it was the cell's zero"
    )
    return (
        f"the force at equal positions changed by {force_with_band(fact.figure('drift_n'), fact.figure('u95_n'))} in "
        f"{_minutes(fact.figure('duration_s'))}, as a zero that drifts does; it was taken off{sure}: let cell and "
        "amplifier warm up before recording"
    )


def _minutes(duration_s: float) -> str:
    minutes = duration_s / 60.0
    return f"{minutes:.0f} min" if minutes >= 2.0 else f"{duration_s:.0f} s"


_HOLDS = {
    "stop": "every rest on the start stop is treated as the same angle",
    "rests": "the gyroscope's zero is read at the rests",
    "ends": "the ends of the travel are treated as the same two angles each time; let the arm rest on its stop between "
    "repetitions",
    "nothing": "nothing holds it over time; let the arm rest on its stop between repetitions",
}

SENTENCES: Mapping[str, Sentence] = {
    ClockFact.STAMPS_STEP_BACK: lambda fact: "the time stamps step back",
    ClockFact.TOO_FEW_SAMPLES: lambda fact: (
        "too few samples to join the clocks: arrival times are used as they are"
    ),
    ClockFact.STRAY_STAMPS: lambda fact: (
        f"{fact.figures['count']} damaged device stamps were replaced from their neighbours"
    ),
    ClockFact.STAMPED_LATE: lambda fact: (
        f"{fact.figures['count']} samples were stamped late or coarsely: they were put on the pace of their neighbours"
    ),
    ClockFact.RESTARTED: _restarted,
    ClockFact.TIMES_UNCERTAIN: lambda fact: (
        f"sample times are only known to {1e3 * fact.figure('u_s'):.1f} ms at worst"
    ),
    HingeFact.INCLINATION_DIFFERS: _inclined,
    HingeFact.NO_VALUE: lambda fact: (
        f"{fact.figures['count']} inertial samples without a value were left out"
    ),
    HingeFact.REPEATED_TIMES: lambda fact: (
        f"{fact.figures['count']} inertial samples with repeated times were left out"
    ),
    HingeFact.STUCK_READING: lambda fact: (
        f"the inertial sensor sent the same reading {fact.figures['count']} times over while moving, {_from_to(fact)}: "
        "left out as a gap"
    ),
    HingeFact.WILD_SAMPLES: _wild_samples,
    HingeFact.JUMPS_ABOUT: lambda fact: (
        f"the gyroscope jumps about in {fact.figures['count']} samples {_from_to(fact)}, treated as unknown rotation "
        "there: check the sensor's wiring"
    ),
    HingeFact.AT_LIMIT: lambda fact: (
        f"the {fact.figures['sensor']} was at its limit in {fact.figures['count']} samples {_from_to(fact)}: set a "
        "larger range"
    ),
    HingeFact.SENSOR_MOVED: lambda fact: (
        f"the sensor seems to have moved on the part near {_at(fact):.1f} s (its axis changed by "
        f"{_turned_deg(fact):.0f}°): fix it and record again"
    ),
    HingeFact.NOT_A_HINGE: lambda fact: (
        f"the part does not turn about one fixed hinge: {100 * fact.figure('share'):.0f} % of its rotation is across "
        "it; fix the sensor on the arm itself, and the machine to the floor"
    ),
    HingeFact.GRAVITY_LEFT_OUT: lambda fact: (
        f"the hinge is so near to vertical that gravity ({fact.figure('gravity_m_s2'):.2f} m/s² in the plane of "
        f"turning) does not tell the angle and is left out: {_HOLDS[str(fact.figures['held_by'])]}; the gyroscope's "
        f"scale is only known to {100 * fact.figure('u_scale'):.1f} %, a turn through a known angle in its calibration "
        "tells it better"
    ),
    HingeFact.REPEATED_READINGS: lambda fact: (
        f"each inertial reading stands in several rows: {fact.figures['count']} repetitions were left out, "
        f"{fact.figure('rate_hz'):.0f} readings a second remain"
    ),
    HingeFact.SLIPPED_ABOUT_HINGE: lambda fact: (
        f"the sensor seems to have slipped about the hinge near {_at(fact):.0f} s, by {abs(_turned_deg(fact)):.0f}° or "
        "more (the pivot then lies elsewhere from it): fix it and record again"
    ),
    HingeFact.REST_CHANGED: lambda fact: (
        f"the rest position changed by {_turned_deg(fact):.1f}° near {_at(fact):.1f} s: the sensor may have slipped or "
        "the stop was moved"
    ),
    HingeFact.NO_GRAVITY: lambda fact: (
        f"the accelerometer reads {fact.figure('accel_m_s2'):.1f} m/s² in place of gravity: the angle rests on the "
        "gyroscope's own scale; check the accelerometer's unit and wiring"
    ),
    HingeFact.SENSORS_DISAGREE: lambda fact: (
        f"the accelerometer disagrees with the gyroscope by {fact.figure('accel_m_s2'):.1f} m/s² rms: check signs and "
        "units of both"
    ),
    HingeFact.UNUSUAL_SCALE: lambda fact: (
        f"gravity shows that the gyroscope's readings are off by {-100.0 * fact.figure('scale'):.1f} %, expected is "
        f"{100.0 * fact.figure('u_scale'):.1f} %: check its scale in the rig file, or its certificate"
    ),
    HingeFact.NOT_SETTLED: lambda fact: "the angle's least squares did not settle; treat the angle with care",
    HingeFact.HOLE: lambda fact: (
        f"the inertial stream has a hole {_from_to(fact, decimals=1)}: nothing is known of the motion in it"
    ),
    HingeFact.LEFT_OUT_AFTER_HOLE: lambda fact: (
        f"left out after a hole in the inertial stream: {_from_to(fact, decimals=1)}, where the arm's angle cannot be "
        f"determined; in all {100 * fact.figure('share'):.0f} % of the recording"
    ),
    HingeFact.NO_REST_BEFORE: lambda fact: (
        "no rest before the first movement: rotation is counted from the lowest position, the uncertainty of the "
        "start is not known"
    ),
    ZeroFact.NOT_TARED: lambda fact: (
        f"{_NO_ZERO[str(fact.figures['reason'])](fact)}: the force is not tared; record a few seconds hands off at "
        "the start and mark them"
    ),
    ZeroFact.MACHINE_MOVED: lambda fact: "the machine moved during the hands-off window",
    ZeroFact.FORCE_WANDERS: lambda fact: (
        "the force wanders during the hands-off window as if something were held"
    ),
    ZeroFact.REST_BELOW_ZERO: lambda fact: (
        f"at rest on the stop the force is {_force(fact, 'below_n')} below the zero: right if the handle's own "
        "weight hangs on the cell hands off, else something was held in that window"
    ),
    ZeroFact.DRIFTED: lambda fact: (
        f"the zero drifted by {signed_force(fact.figure('drift_n'))} from start to end; a straight line was subtracted"
    ),
    ZeroFact.UNMARKED: _unmarked,
    ZeroFact.PULLS_OTHER_WAY: lambda fact: (
        f"the handle pulls the other way by up to {_force(fact, 'above_n')}: right if the load passes over the "
        "pivot or the motion was brisk, else something was held at rest; mark the hands-off rest to be sure"
    ),
    ZeroFact.AT_LIMIT: lambda fact: (
        f"the force sensor was at the end of its range in {fact.figures['count']} samples, which were left out: use a "
        "cell or an amplifier of larger range"
    ),
    ZeroFact.REVERSED: lambda fact: (
        f"the force is below zero in {100 * fact.figure('share'):.0f} % of the movement: if the machine does not push "
        "the handle all the way, the cell reads the wrong way round; turn it, or give its scale the other sign in the "
        "rig file"
    ),
    AlignmentFact.BEGINS_WITH_LOWERING: lambda fact: (
        "the recording begins with a lowering, as friction and inertia show"
    ),
    AlignmentFact.FORCE_HOLE: lambda fact: (
        f"the force stream has a hole {_from_to(fact, decimals=1)}: what was felt in it is not known"
    ),
    AlignmentFact.COUNTED_FROM_LOWER_END: lambda fact: (
        "no rest on the start stop was seen: rotation is counted from the lower end of the travel, to "
        f"{np.degrees(fact.figure('u_rad')):.1f}° (standard uncertainty)"
    ),
    AlignmentFact.DRIFT_TAKEN_OFF: lambda fact: (
        f"the arm's angle drifted by up to {degrees(fact.figure('drift_rad'))} over the recording, as the force at "
        "equal positions shows; it was taken off, which supposes that no partner helped; let the arm rest on its stop "
        "between repetitions"
    ),
    AlignmentFact.ZERO_DRIFT: _zero_drift,
    AlignmentFact.ZERO_DRIFT_DISAGREES: lambda fact: (
        f"the zero taken afterwards says a drift of {signed_force(fact.figure('rests_n'))}, the repetitions one of "
        f"{force_with_band(fact.figure('drift_n'), fact.figure('u95_n'))}, which was taken off: something was held or "
        "hung on the cell in one of the rests, or the machine itself changed (a band that warms, a strap that slips); "
        "record again with hands off at both ends"
    ),
    AlignmentFact.LAG_UNKNOWN: lambda fact: (
        "the lag between the sensors cannot be determined from the motion: too slow or too even, or the streams do not "
        f"belong together ({1e3 * fact.figure('lag_s'):.0f} ms assumed, u = {1e3 * fact.figure('u_s'):.0f} ms); the "
        "band is wider for it: add brisk repetitions or a knock"
    ),
    AlignmentFact.LAG_LEFT_IN: lambda fact: (
        "nothing in the recording shows by how much the force comes after the motion: it stays where it arrived, late "
        "by up to a tenth of a second where filters or a radio link delay it"
    ),
    AlignmentFact.LAG_LARGE: lambda fact: (
        f"the force comes {1e3 * fact.figure('lag_s'):.0f} ms after the motion, more than sensors delay; it is allowed "
        "for, but check how the two clocks were joined"
    ),
    AlignmentFact.LAGS_DISAGREE: _lags_disagree,
    **findings.SENTENCES,
}
"""Kind -> what is said of it."""
