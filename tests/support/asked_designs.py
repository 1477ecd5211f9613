"""What a designer asks for, in a few words: dimensions that move, a wanted curve."""

from __future__ import annotations

import numpy as np

from feltload.calibration.design.free import FreeDimension, free_dimension
from feltload.calibration.design.proposal import Proposal
from feltload.calibration.machine.file import parse_machine
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.parameters import ParameterKey
from feltload.calibration.machine.survey import example_text
from feltload.calibration.target.target import Target, TargetAxis, TargetScale


def free(machine: Machine, **bounds: tuple[float, ...]) -> list[FreeDimension]:
    """Free dimensions in the units of the file; "__" stands for the point of a name."""
    found = []
    for name, (low, high, *step) in bounds.items():
        parameter = machine.parameter(ParameterKey.from_dotted(name.replace("__", ".")))
        unit = parameter.per_unit
        found.append(free_dimension(parameter, low * unit, high * unit, step[0] * unit if step else None))
    return found


def wanted_n(
    q_rad: np.ndarray, force_n: np.ndarray, tolerance_n: float, load_kg: float | None = None
) -> Target:
    part = q_rad / q_rad[-1]
    return Target(
        "curve",
        TargetAxis.TRAVEL,
        part,
        force_n,
        np.full(part.size, tolerance_n),
        TargetScale.NEWTONS,
        between=False,
        load_kg=load_kg,
    )


def lever() -> Machine:
    return parse_machine(example_text("lever"))


def proposed(found: Proposal) -> dict[str, float]:
    """Changed dimensions in the units of the file."""
    return {
        each.free.parameter.key.dotted: each.value / each.free.parameter.per_unit for each in found.dimensions
    }
