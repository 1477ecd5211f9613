"""Causes that may explain a difference: every dimension, every load, and slips that move several of them together."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.agreement.explanation import CauseKind, CauseSet, Moved
from feltload.calibration.agreement.explanations.search import BLUNDER_SPREAD
from feltload.calibration.agreement.joint.observations import Change
from feltload.calibration.agreement.joint.tilt import MeasuredTilt
from feltload.calibration.agreement.loads import LEAST_WRONG_KG, PLATE_PAIR_KG
from feltload.calibration.machine import limits
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanisms.four_bar import FourBar
from feltload.calibration.machine.parameters import HINGE_INCLINATION, START_ANGLE, Parameter, ParameterKey
from feltload.core import Floats

SLIP_ODDS: Final = -2.0 * math.log(30.0)
"""Twice the log odds of one certain slip, against a dimension that was measured badly (common practice, no source)."""
DEFAULT_ODDS: Final = 2.0 * math.log(3.0)
"""Of a dimension whose uncertainty nobody stated: it was less looked at."""
UNDECLARED_ODDS: Final = 2.0 * math.log(5.0)
"""Of one that the file leaves out altogether."""
HINT_ODDS: Final = 2.0 * math.log(20.0)
"""Of a slip that the sensor's place on the arm speaks for as well."""
MOST_GAIN: Final = 0.1
"""A cell that nobody calibrated is off by no more than this part (common practice, no source)."""
MOST_STOP_RAD: Final = math.radians(30.0)
"""A start stop in another hole, or a level zeroed on a slope (common practice, no source)."""
LB_KG: Final = 0.45359237
START_STOP_UNIT_RAD: Final = math.radians(0.5)
RADII_UNIT: Final = 0.02
"""Units in which common shifts are fitted: default uncertainties of an angle and of a small radius."""
_INPUT_ANGLE: Final = ParameterKey("input_angle")
_CAM_MOUNTING: Final = ParameterKey("mounting", "cam")
_LEAST_SLIP_RAD: Final = math.radians(4.0)
_ELEVATIONS: Final = ("start_angle", "angle", "input_angle", "ground_angle", "pull_direction")
"""Dimensions that are elevations against the horizontal, seen from one side."""


@dataclass(frozen=True)
class Candidate:
    """One cause.

    Attributes
    ----------
    kind : CauseKind
    dimensions : tuple of ParameterKey
        What it moves.
    loads_kg : tuple of float
        Loads that it moves, as stated.
    change : callable
        A shift in its unit to a change of machine, loads or cell.
    least, lowest, highest : float
        Plausible shifts.
    prior : float
        Twice its log odds against an ordinary dimension.
    fixed : bool
        It is there or not.
    spread : float
        Standard deviation of a far blunder, in its unit.
    """

    kind: CauseKind
    dimensions: tuple[ParameterKey, ...]
    loads_kg: tuple[float, ...]
    change: Callable[[float], Change]
    least: float = 0.0
    lowest: float = -np.inf
    highest: float = np.inf
    prior: float = 0.0
    fixed: bool = False
    spread: float = BLUNDER_SPREAD


def candidates(
    machine: Machine,
    loads_kg: Floats,
    gain: tuple[float, bool],
    hinted: CauseKind | None = None,
    tilt: MeasuredTilt | None = None,
) -> list[Candidate]:
    """Every cause of a machine, its loads and its cell.

    Parameters
    ----------
    machine : Machine
    loads_kg : ndarray, shape (m,)
        As stated.
    gain : (float, bool)
        Relative standard uncertainty of the cell's gain, and whether it was stated.
    hinted : CauseKind, optional
        Slip of the start angle that the sensor's place speaks for.
    tilt : MeasuredTilt, optional
        The hinge's, by gravity.
    """
    found = [*_dimensions(machine, loads_kg), *_loads(loads_kg)]
    found += [*_common_shifts(machine, loads_kg), *_slips(machine, loads_kg, hinted)]
    found += _tilted(machine, loads_kg, tilt)
    u, stated = gain
    if u > 0.0 and not stated:
        found.append(
            Candidate(
                CauseKind.CELL_GAIN,
                (),
                (),
                lambda shift: Change({}, loads_kg, 1.0 + u * shift),
                lowest=-MOST_GAIN / u,
                highest=MOST_GAIN / u,
            )
        )
    return found


def together(chosen: Sequence[Candidate], shifts: Floats, machine: Machine, loads_kg: Floats) -> Change:
    """Several causes at once: what each moves is added up, factors are multiplied."""
    values: dict[ParameterKey, float] = {}
    loads, gain = loads_kg.copy(), 1.0
    for candidate, shift in zip(chosen, shifts, strict=True):
        change = candidate.change(float(shift))
        for key, value in change.values.items():
            values[key] = values.get(key, machine.values[key]) + value - machine.values[key]
        loads = loads + change.loads_kg - loads_kg
        gain *= change.gain
    return Change(values, loads, gain)


def cause_set(chosen: Sequence[Candidate], shifts: Floats, machine: Machine, loads_kg: Floats) -> CauseSet:
    """A set of causes as it is reported."""
    change = together(chosen, shifts, machine, loads_kg)
    dimensions = tuple(dict.fromkeys(key for c in chosen for key in c.dimensions))
    loads = tuple(load for c in chosen for load in c.loads_kg)
    kinds = [c.kind for c in chosen if c.kind not in (CauseKind.DIMENSIONS, CauseKind.LOAD)]
    moved = tuple(Moved(machine.parameter(key), change.values[key]) for key in dimensions)
    looks_like = tuple(float(change.loads_kg[loads_kg == load][0]) for load in loads)
    ordinary = CauseKind.DIMENSIONS if dimensions else CauseKind.LOAD
    return CauseSet(dimensions, loads, kinds[0] if kinds else ordinary, moved, looks_like, change.gain)


def _dimensions(machine: Machine, loads_kg: Floats) -> Iterator[Candidate]:
    for p in machine.parameters:
        if p.u <= 0.0:
            continue
        low, high = p.plausible
        prior = 0.0 if not p.u_is_default else DEFAULT_ODDS if p.declared else UNDECLARED_ODDS
        yield Candidate(
            CauseKind.DIMENSIONS,
            (p.key,),
            (),
            _shifted([p], [p.u], loads_kg),
            lowest=(low - p.value) / p.u,
            highest=(high - p.value) / p.u,
            prior=prior,
            spread=_spread(p.blunder / p.u),
        )


def _spread(largest: float) -> float:
    """Three standard deviations reach the largest plausible shift, where one is known."""
    return max(BLUNDER_SPREAD, largest / 3.0) if math.isfinite(largest) else BLUNDER_SPREAD


def _tilted(machine: Machine, loads_kg: Floats, tilt: MeasuredTilt | None) -> Iterator[Candidate]:
    """The tilt that gravity showed: from a level hinge no slope leads to it, and no survey bounds it."""
    if tilt is None or tilt.taken:
        return
    change = Change({HINGE_INCLINATION: tilt.value_rad}, loads_kg)
    yield Candidate(CauseKind.DIMENSIONS, (HINGE_INCLINATION,), (), lambda shift: change, fixed=True)


def _shifted(
    parameters: Sequence[Parameter], per_unit: Sequence[float], loads_kg: Floats
) -> Callable[[float], Change]:
    def change(shift: float) -> Change:
        return Change(
            {p.key: p.value + shift * step for p, step in zip(parameters, per_unit, strict=True)}, loads_kg
        )

    return change


def _loads(loads_kg: Floats) -> Iterator[Candidate]:
    for k, load in enumerate(loads_kg):
        one = np.where(np.arange(loads_kg.size) == k, PLATE_PAIR_KG, 0.0)
        yield Candidate(
            CauseKind.LOAD,
            (),
            (float(load),),
            _loaded(loads_kg, one),
            least=LEAST_WRONG_KG / PLATE_PAIR_KG,
            lowest=-float(load) / PLATE_PAIR_KG,
        )


def _loaded(loads_kg: Floats, one: Floats) -> Callable[[float], Change]:
    return lambda shift: Change({}, np.maximum(loads_kg + shift * one, 0.0))


def _common_shifts(machine: Machine, loads_kg: Floats) -> Iterator[Candidate]:
    """One cause that moves several dimensions."""
    turned = _start_moved(machine, 0.0)
    if len(turned) > 1:
        unit = START_STOP_UNIT_RAD
        yield Candidate(
            CauseKind.START_STOP,
            tuple(turned),
            (),
            lambda shift: Change(_start_moved(machine, shift * unit), loads_kg),
            lowest=-MOST_STOP_RAD / unit,
            highest=MOST_STOP_RAD / unit,
            spread=_spread(MOST_STOP_RAD / unit),
        )
    radii = [p for p in machine.parameters if p.key.dimension in ("drum_radius", "handle_radius")]
    if machine.mechanism.kind == "cable" and len(radii) == 2:
        unit = RADII_UNIT
        yield Candidate(
            CauseKind.BOTH_RADII,
            tuple(p.key for p in radii),
            (),
            _shifted(radii, [unit * p.value for p in radii], loads_kg),
            lowest=-0.3 / unit,
            highest=0.3 / unit,
        )


def _start_moved(machine: Machine, turn_rad: float) -> dict[ParameterKey, float]:
    """Every elevation on the start stop when the arm starts `turn_rad` further on."""
    mechanism, values = machine.mechanism, machine.values
    if set(mechanism.links) == set(mechanism.sliding):
        return {}
    frames = mechanism.frames(np.array([turn_rad]), values)
    handle = frames[mechanism.handle_on] if isinstance(mechanism, FourBar) else None
    moved = {START_ANGLE: turn_rad if handle is None else float(handle.turn[0])}
    moved |= {key: turn_rad for key in (_INPUT_ANGLE, _CAM_MOUNTING) if key in values}
    for rider in machine.riders:
        key = ParameterKey("angle", rider.name)
        if key in values:
            moved[key] = float(frames[rider.on or mechanism.links[0]].turn[0])
    return {key: values[key] + turn for key, turn in moved.items() if key in values}


def _slips(machine: Machine, loads_kg: Floats, hinted: CauseKind | None) -> Iterator[Candidate]:
    """Slips that are there or not: the other side, a lost sign, a diameter for a radius, a ratio, pounds."""

    def slip(kind: CauseKind, values: dict[ParameterKey, float], loads: Floats = loads_kg) -> Candidate:
        stated = tuple(float(load) for load in loads_kg) if loads is not loads_kg else ()
        prior = SLIP_ODDS + (HINT_ODDS if kind is hinted else 0.0)
        change = Change(values, loads)
        # Halfway there is nothing, but near 1 the search may look for a slope.
        return Candidate(kind, tuple(values), stated, lambda shift: change, prior=prior, fixed=True)

    elevations = [p for p in machine.parameters if p.key.dimension in _ELEVATIONS]
    mirrored = {p.key: _within_turn(math.pi - p.value) for p in elevations}
    mirrored |= {p.key: -p.value for p in machine.parameters if p.key.dimension == "anchor_x"}
    if elevations:
        yield slip(CauseKind.OTHER_SIDE, mirrored)
        yield slip(CauseKind.SIGN, {p.key: -p.value for p in elevations})
    for p in elevations:
        if p.key == START_ANGLE or len(elevations) == 1:
            continue
        if abs(math.cos(p.value)) > math.sin(_LEAST_SLIP_RAD):
            yield slip(CauseKind.OTHER_SIDE, {p.key: _within_turn(math.pi - p.value)})
        if abs(p.value) > _LEAST_SLIP_RAD:
            yield slip(CauseKind.SIGN, {p.key: -p.value})
    for p in machine.parameters:
        if p.limits is limits.DRUM_RADIUS:
            yield slip(CauseKind.DIAMETER, {p.key: 0.5 * p.value})
            yield slip(CauseKind.DIAMETER, {p.key: 2.0 * p.value})
        elif p.limits is limits.RATIO:
            yield slip(CauseKind.RATIO, {p.key: 0.5 * p.value})
            yield slip(CauseKind.RATIO, {p.key: 2.0 * p.value})
    yield slip(CauseKind.LOAD_UNIT, {}, loads_kg * LB_KG)
    yield slip(CauseKind.LOAD_UNIT, {}, loads_kg / LB_KG)


def _within_turn(angle_rad: float) -> float:
    """The same direction within half a turn either way."""
    return (angle_rad + math.pi) % (2.0 * math.pi) - math.pi
