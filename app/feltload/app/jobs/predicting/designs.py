"""What a design is asked for, as it is typed, and its record."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Final

import numpy as np

from feltload.app.errors import UsageError
from feltload.app.jobs.predicting.inputs import si_of
from feltload.app.jobs.predicting.targets import read_targets
from feltload.calibration import (
    CamDesign,
    Conflict,
    Demand,
    FreeDimension,
    Machine,
    ParameterKey,
    Proposal,
    Target,
    free_dimension,
    unit_symbol,
)

CAM: Final = "cam"
_MOVE: Final = re.compile(r"\s*(?P<key>[^=]+?)\s*=\s*(?P<numbers>\S.*?)\s*")
_NUMBER: Final = re.compile(r"(?P<number>[-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?)\s*(?P<unit>[^\s\d].*)?")
_REMEDY: Final = (
    'write it as "plates.radius=200:320", lowest and highest in the unit of the machine file, or '
    '"plates.radius=200:320:25" for holes every 25'
)


def read_moves(written: Sequence[str], machine: Machine) -> tuple[FreeDimension, ...]:
    """Free dimensions of `--move`: "plates.radius=200:320", "plates.radius=8:12 in", with a third number for holes.

    Raises
    ------
    UsageError
        It cannot be read.
    MachineError
        There is no such dimension, or its bounds cannot be.
    """
    return tuple(_move(text, machine) for text in written)


def _move(text: str, machine: Machine) -> FreeDimension:
    if text.strip() == CAM:
        raise UsageError(
            "a new cam moves alone",
            where="--move cam",
            remedy="design the cam first, then move dimensions of its file",
        )
    found = _MOVE.fullmatch(text)
    if found is None:
        raise UsageError(f"{text!r} names no dimension with bounds", where="--move", remedy=_REMEDY)
    parameter = machine.parameter(ParameterKey.from_dotted(found["key"]))
    if parameter.key.part == CAM:
        raise UsageError(
            f"{found['key']} is no dimension to design",
            where="--move",
            remedy="write --move cam for a new cam",
        )
    where = f"--move {found['key']}"
    try:
        numbers, unit = _numbers(found["numbers"])
        low, high, step = [*numbers, math.nan][:3] if len(numbers) == 2 else numbers
    except ValueError:
        raise UsageError(f"{found['numbers']!r} is not low:high", where=where, remedy=_REMEDY) from None
    per = parameter.per_unit if unit is None else si_of(unit, parameter, where=where)
    return free_dimension(parameter, low * per, high * per, None if math.isnan(step) else step * per)


def _numbers(text: str) -> tuple[list[float], str | None]:
    """Numbers between colons, and the one unit behind the last of them or behind each."""
    found = [_NUMBER.fullmatch(word.strip()) for word in text.replace("−", "-").split(":")]
    numbers = [float(each["number"]) for each in found if each is not None]
    units = {each["unit"].strip() for each in found if each is not None and each["unit"]}
    if len(numbers) < len(found) or len(units) > 1 or not np.isfinite(numbers).all():
        raise ValueError
    return numbers, units.pop() if units else None


def read_design_targets(written: Sequence[str]) -> tuple[Target, ...]:
    """Targets of `--target`, of which a design needs one.

    Raises
    ------
    TargetError, UsageError
    """
    if not written:
        raise UsageError(
            "no target is given", where="--target", remedy='say it, such as "falls 25(5) % from start to end"'
        )
    return read_targets(written)


def proposal_record(proposal: Proposal) -> dict[str, object]:
    """A proposal as plain values, dimensions in the units of the machine file."""
    return {
        "machine": proposal.machine.name,
        "travel_rad": proposal.travel_rad,
        "meets": proposal.meets,
        "miss_in_tolerances": proposal.stage.miss,
        "targets": [_demand(demand) for demand in proposal.demands],
        "changes": [
            {
                "name": each.free.parameter.key.dotted,
                "unit": unit_symbol(each.free.parameter.unit),
                "today": each.free.parameter.value / each.free.parameter.per_unit,
                "proposed": each.value / each.free.parameter.per_unit,
                "low": each.free.low / each.free.parameter.per_unit,
                "high": each.free.high / each.free.parameter.per_unit,
                "n_per_unit": each.change_n,
                "at_bound": each.at_bound,
            }
            for each in proposal.dimensions
        ],
        "stages": [
            {
                "changes": [proposal.free[i].parameter.key.dotted for i in stage.moving],
                "values": [
                    proposal.free[i].value(float(stage.parts[i])) / proposal.free[i].parameter.per_unit
                    for i in stage.moving
                ],
                "miss_in_tolerances": stage.miss if math.isfinite(stage.miss) else None,
                "meets": stage.meets,
            }
            for stage in proposal.stages
        ],
        "left_open": [
            {
                "names": [each.parameter.key.dotted for each in combination.free],
                "per_first_si": list(combination.per_first),
            }
            for combination in proposal.combinations
        ],
        "tolerances": {
            "worst_miss_in_tolerances": proposal.tolerances.worst_miss,
            "part_meeting": proposal.tolerances.meeting,
            "draws": proposal.tolerances.draws,
            "dimensions": [
                {
                    "name": each.key.dotted,
                    "half_si": each.half,
                    "changed": each.made,
                    "change_n": each.change_n,
                }
                for each in proposal.tolerances.dimensions
            ],
        },
        "wider_bounds": [
            {"wider": relief.wider, "miss_in_tolerances": relief.miss} for relief in proposal.reliefs
        ],
        "conflict": conflict_record(proposal.conflict),
        "facts": [fact.to_dict() for fact in proposal.facts],
        "curves": [
            {
                "load_kg": curve.load_kg,
                "rotation_rad": proposal.q_rad.tolist(),
                "today_n": curve.today_n.tolist(),
                "proposed_n": curve.proposed_n.tolist(),
            }
            for curve in proposal.curves
        ],
    }


def conflict_record(conflict: Conflict) -> dict[str, object]:
    """Targets that cannot be met together as plain values, distances in tolerances."""
    return {
        "fronts": [
            {
                "first": _demand(front.first),
                "second": _demand(front.second),
                "misses_in_tolerances": [list(pair) for pair in front.misses],
                "others_in_tolerances": list(front.others),
            }
            for front in conflict.trade_offs
        ],
        "yielding": [
            {**_demand(each.demand), "times_its_tolerance": each.times, "others_in_tolerances": each.others}
            for each in conflict.yielding
        ],
    }


def _demand(demand: Demand) -> dict[str, object]:
    return {"text": demand.placed.target.text, "load_kg": demand.load_kg}


def cam_record(design: CamDesign) -> dict[str, object]:
    """A cam's design as plain values."""
    turns, arms = design.rows
    return {
        "machine": design.machine.name,
        "travel_rad": design.travel_rad,
        "meets": design.meets,
        "miss_in_tolerances": design.table.miss,
        "bounded_by_outline": design.table.bounded,
        "cam": {"rotation_rad": turns.tolist(), "arm_m": arms.tolist()},
        "facts": [fact.to_dict() for fact in design.facts],
        "curves": [
            {
                "load_kg": float(load),
                "rotation_rad": design.table.q_rad.tolist(),
                "wanted_n": wanted.tolist(),
                "proposed_n": force.tolist(),
            }
            for load, wanted, force in zip(
                design.wanted.loads_kg, design.wanted.force_n, design.table.force_n, strict=True
            )
        ],
    }
