"""What stands on a drawing for the shop."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Final

from feltload.app.text.machine.dimensions import dimension_name, in_unit
from feltload.app.text.proposed.proposal import change_text
from feltload.calibration import Machine, Parameter, ParameterKey, ProposedDimension, unit_symbol

NOTES: Final = (
    "Millimetres and degrees. On the start stop, seen from the side on which the concentric motion turns "
    "counter-clockwise; angles are elevations above the horizontal to the right.",
    "The figure after ± is twice the standard uncertainty that the machine file states; without ± it states none.",
    "From the machine file alone: no strength, no safety factor and no guard was checked. Have parts that carry load "
    "designed and released by somebody licensed to, to the codes that hold where the machine will stand.",
)
CAM_NOTES: Final = (
    "Cut the closed line of layer CAM. The cross is the axis; the cam is drawn as it stands on the start stop, "
    "seen from the side on which the concentric motion turns counter-clockwise.",
    "From the machine file alone: no strength was checked. Keep the cable on the cam with a groove or flanges, "
    "fasten it beyond the first mark, and follow its maker on bending.",
)
PROPOSAL_NOTES: Final = (
    "Solid: as proposed. Dashed grey: today's machine. Only what changes has its dimension, today's before the arrow.",
    NOTES[0],
    NOTES[2],
)
_NO_STRENGTH: Final = ("note", "no strength calculation")


def title_cells(name: str, view: str, scale: str, drawn: date) -> tuple[tuple[str, str], ...]:
    """Heading and words of a drawing's title block."""
    return (
        ("machine", name),
        ("view", view),
        _NO_STRENGTH,
        ("scale", scale),
        ("units", "mm, degrees"),
        ("drawn", drawn.isoformat()),
    )


def sheet_cells(name: str, scale: int, drawn: date) -> tuple[tuple[str, str], ...]:
    """Title block of a side view."""
    said = f"1 : {scale} on paper; the DXF is 1 : 1"
    return title_cells(name, "side view", said, drawn)


def cam_cells(machine: Machine, drawn: date) -> tuple[tuple[str, str], ...]:
    """Title block of a cam."""
    return title_cells(machine.name, "cam", "1 : 1", drawn)


def cam_marks(start_m: float, end_m: float) -> tuple[str, str]:
    """What stands where the cable leaves first and last, with its moment arm there."""
    return (
        f"cable leaves: start stop, arm {start_m * 1e3:.1f}",
        f"cable leaves: end of travel, arm {end_m * 1e3:.1f}",
    )


def changed_labels(dimensions: Sequence[ProposedDimension]) -> Mapping[ParameterKey, str]:
    """How a changed dimension is written: ``plates 270 -> 243 mm``."""
    labels = {}
    for each in dimensions:
        p = each.free.parameter
        size = in_unit(f"{_figure(p, p.value)} → {_figure(p, each.value)} {unit_symbol(p.unit)}")
        labels[p.key] = f"{_part(p)} {size}".replace(" -", " −")
    return labels


def changes_note(dimensions: Sequence[ProposedDimension]) -> str:
    """Every change, those that no side view shows among them."""
    return f"Changes: {'; '.join(change_text(each) for each in dimensions)}."


def proposal_title(name: str) -> str:
    """Title of a proposed machine's drawing."""
    return f"{name}, over today's: side view"


def drawing_title(name: str) -> str:
    """Title of a side view."""
    return f"{name}: side view"


def cam_title(name: str) -> str:
    """Title of a cam's outline."""
    return f"{name}: cam, 1 : 1 in millimetres"


def dimension_labels(machine: Machine) -> Mapping[ParameterKey, str]:
    """How each dimension is written on a drawing."""
    return {p.key: dimension_label(p) for p in machine.parameters}


def dimension_label(parameter: Parameter) -> str:
    """``plates 270 ±6 mm``: the part's name, its size, and twice its uncertainty where the file states one."""
    size = in_unit(f"{_figure(parameter, parameter.value)}{_spread(parameter)} {unit_symbol(parameter.unit)}")
    before = "R " if parameter.key.dimension in ("drum_radius", "wheel_radius", "pulley_radius") else ""
    return f"{_part(parameter)} {before}{size}".replace(" -", " −")


def _part(parameter: Parameter) -> str:
    return parameter.key.part or parameter.key.dimension.replace("_", " ")


def cam_tolerance_note(within_mm: float, diameter_mm: float | None) -> str:
    """How near the drawn outline is, and what it is the outline of."""
    what = (
        f"the surface under a cable of {diameter_mm:g} mm"
        if diameter_mm is not None
        else "the middle of the cable, whose diameter is not given: set half of it back"
    )
    return f"The line is {what}; its straight pieces lie within {within_mm:g} mm of the curve."


def dimension_table(machine: Machine, drawn: frozenset[ParameterKey]) -> list[list[str]]:
    """The table of dimensions: header, then a row for each."""
    rows = [["dimension", "name", "value", "unit", "plus_minus_k2", "stated", "on_drawing"]]
    for p in machine.parameters:
        rows.append(
            [
                p.key.dotted,
                dimension_name(p.key),
                _figure(p, p.value),
                unit_symbol(p.unit),
                "" if p.u_is_default else f"{2.0 * p.u / p.per_unit:.3g}",
                "yes" if p.declared else "no",
                "yes" if p.key in drawn else "no",
            ]
        )
    return rows


def _spread(parameter: Parameter) -> str:
    half = 2.0 * parameter.u / parameter.per_unit
    return "" if parameter.u_is_default or half <= 0.0 else f" ±{half:.2g}"


def _figure(parameter: Parameter, value: float) -> str:
    return f"{value / parameter.per_unit:.6g}"
