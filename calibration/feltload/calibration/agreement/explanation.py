"""An agreement in plain words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanisms.masses import RidingMass
from feltload.calibration.machine.parameters import change_in_words, readable

if TYPE_CHECKING:
    from feltload.calibration.agreement.agreement import Agreement


def explain(agreement: Agreement, machine: Machine, sets: Sequence[tuple[str, ...]]) -> str:
    """Say the verdict, its cause and what remains.

    Parameters
    ----------
    agreement : Agreement
        The result.
    machine : Machine
        The survey.
    sets : sequence of tuple of str
        Sets of dimensions that explain the difference equally well, best first.
    """
    difference = agreement.measured_n - agreement.model_n
    worst = int(np.argmax(np.abs(agreement.en)))
    spot = _spot(agreement, worst)
    size = (
        f"{abs(difference[worst]):.1f} N {'more' if difference[worst] > 0 else 'less'} than predicted {spot}"
    )
    if agreement.verdict == "agrees":
        parts = [
            f"The measured force agrees with the surveyed geometry within {agreement.band_percent:.1f} % of the "
            f"peak (mean 95 % band); the largest E_n is {agreement.en_max:.2f}, {size}."
        ]
    elif agreement.verdict == "inconclusive":
        parts = [
            f"The bands are too wide to tell: together they are ±{agreement.band_percent:.0f} % of the peak (limit "
            "10 %). Measure the dimensions that weigh most again, or record more repetitions."
        ]
    else:
        parts = [
            f"The measured force differs from the surveyed geometry: {size} (E_n {agreement.en_max:.2f})."
        ]
        parts += _cause(agreement, machine, sets)
    if not agreement.first_order:
        parts.append("The survey is too uncertain for a linear model; its band is from Monte Carlo.")
    if agreement.default_u:
        parts.append(
            "Default uncertainties were taken for "
            + ", ".join(readable(n) for n in agreement.default_u)
            + "."
        )
    return " ".join(parts)


def _cause(agreement: Agreement, machine: Machine, sets: Sequence[tuple[str, ...]]) -> list[str]:
    fitted = {d.name: d for d in agreement.fitted}
    said = []
    for name in agreement.changed:
        parameter = machine.parameter(name)
        dimension = fitted[name]
        value, u = dimension.fitted * parameter.per_unit, dimension.fitted_u * parameter.per_unit
        said.append(
            f"{change_in_words(parameter, value - parameter.value)} ({parameter.text(value, u)}, not "
            f"{parameter.text()}; {abs(dimension.shift_in_u):.1f} standard uncertainties)"
        )
    if not agreement.explained:
        left = int(np.argmax(np.abs(agreement.residual_n) / np.maximum(agreement.residual_u95_n, 1e-9)))
        parts = [
            "No change of up to three dimensions explains it: after the best fit "
            f"{agreement.residual_n[left]:+.1f} N remain {_spot(agreement, left)}, which geometry cannot explain "
            "(something may rub, hit or be missing from the machine file there)."
        ]
        return parts + ([f"Closest is: {'; '.join(said)}."] if said else [])
    parts = [f"It is explained if {'; and '.join(said)}."]
    others = [" and ".join(readable(n) for n in names) for names in sets[1:]]
    if others:
        parts.append(f"A change of {' or of '.join(others)} would explain it as well.")
    for rider in machine.riders:
        if isinstance(rider, RidingMass) and rider.is_load and agreement.changed == (f"{rider.name}.radius",):
            radius = fitted[agreement.changed[0]]
            percent = 100.0 * (radius.fitted / radius.surveyed - 1.0)
            parts.append(
                f"Weigh the {readable(rider.name)} too: a load {abs(percent):.1f} % "
                f"{'heavier' if percent > 0 else 'lighter'} than recorded would look the same."
            )
    return parts


def _spot(agreement: Agreement, index: int) -> str:
    angle = f"{agreement.angles_deg[index]:z.0f}°".replace("-", "−")
    return f"at {angle} with {agreement.load_kg[index]:g} kg"
