"""What to measure on a machine, and how well, to see a given error in its resistance profile."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files
from typing import Final

import numpy as np

from feltload.calibration.errors import MachineError
from feltload.calibration.machine.machine import Machine, parse_machine
from feltload.calibration.machine.mechanisms import MECHANISMS
from feltload.calibration.machine.model_band import predict, shapes_of
from feltload.calibration.machine.parameters import Parameter, readable, spoken_unit
from feltload.core import STANDARD_GRAVITY_M_S2

# How each kind of dimension is taken, by the last part of its name.
_HOW: Final[dict[str, str]] = {
    "start_angle": "digital level along the line from pivot to handle, machine on its start stop",
    "handle_radius": "tape from the pivot's centre to where the hand pulls",
    "radius": "tape from the pivot's centre to the centre of the mass or peg",
    "angle": "digital level along the line from pivot to the mass, machine on its start stop",
    "mass": "weigh it; a nominal mass is only good to 2-3 % (common practice, no source)",
    "hinge_inclination": "digital level along the hinge's axle",
    "gyration_radius": "a third of the part's length if it is a plain bar; only matters for brisk motion",
    "incline": "digital level on the rail",
    "wheel_radius": "travel of ten turns, divided by 2 pi times ten",
    "drum_radius": "calliper over the drum, half of it, plus half the cable",
    "offset": "calliper; half the cable's thickness belongs to the moment arm",
    "mounting": "mark the cam's zero on the start stop",
    "stiffness": "hang two known weights and measure the stretch between them",
    "free_length": "tape along the spring when it carries nothing",
    "input_angle": "digital level along the input link, machine on its start stop",
    "ground_angle": "digital level along the line between the two fixed pivots",
}
_OTHER_HOW: Final = {
    "length": "tape between the centres of the joints",
    "anchor": "tape and level from the pivot",
}


@dataclass(frozen=True)
class SurveyItem:
    """One dimension to measure.

    Attributes
    ----------
    name : str
        Its name in the machine file.
    how : str
        What to measure it with.
    surveyed : str
        Value and standard uncertainty as they stand.
    unit : str
        The person's unit; `per_unit_percent` and the uncertainties are in it.
    u, needed_u : float
        Standard uncertainty as it stands, and the one that suffices (infinite: it does not matter).
    per_unit_percent : float
        Largest change of the force, in percent of the peak, per unit.
    share : float
        Its part of the model's variance now, 0 to 1.
    enough : bool
        Whether `u` suffices.
    """

    name: str
    how: str
    surveyed: str
    unit: str
    u: float
    needed_u: float
    per_unit_percent: float
    share: float
    enough: bool


@dataclass(frozen=True)
class SurveyPlan:
    """What to measure, what matters most first.

    Attributes
    ----------
    see_percent : float
        Error of the curve that must be seen, percent of the peak.
    band_percent : float
        Largest half-width of the model's 95 % band now, percent of the peak.
    text : str
        The plan as a table in plain words.
    """

    machine: str
    load_kg: float
    see_percent: float
    band_percent: float
    items: tuple[SurveyItem, ...]
    text: str


def example_text(kind: str) -> str:
    """Machine file of an invented machine of a kind, to start a survey from.

    Raises
    ------
    MachineError
        No such kind.
    """
    if kind not in MECHANISMS:
        raise MachineError(
            f'"{kind}" is not a mechanism',
            remedy="known are " + ", ".join(f'"{name}"' for name in MECHANISMS),
        )
    return (
        files("feltload.calibration.machine.mechanisms")
        .joinpath("examples", f"{kind}.toml")
        .read_text(encoding="utf-8")
    )


def plan_survey(
    machine: Machine | str,
    *,
    travel_rad: float = float(np.radians(80.0)),
    load_kg: float = 40.0,
    see_percent: float = 2.0,
) -> SurveyPlan:
    """Weigh every dimension by what it does to the curve.

    Parameters
    ----------
    machine : Machine or str
        A survey, or the name of a kind of mechanism for its example.
    travel_rad : float
        Travel from the start stop.
    load_kg : float
        Load.
    see_percent : float
        Error of the curve to be seen, percent of the peak: the 95 % band of the model must not be wider. Every
        dimension that matters gets the same share of it.
    """
    if isinstance(machine, str):
        machine = parse_machine(example_text(machine), f"example {machine}")
    q = np.linspace(0.0, travel_rad, 41)
    loads = np.array([load_kg])
    peak = float(np.abs(predict(machine, q, loads, STANDARD_GRAVITY_M_S2)).max())
    shapes = shapes_of(machine, q, loads, STANDARD_GRAVITY_M_S2)
    variance = np.sum(shapes**2, axis=1)
    total = float(np.sum(variance))
    uncertain = [(p, shapes[:, i]) for i, p in enumerate(machine.parameters) if p.u > 0.0]
    weighing = [p for p, shape in uncertain if np.abs(shape).max() > 1e-4 * peak * see_percent / 100.0]
    allowed = see_percent / 1.96 / np.sqrt(max(len(weighing), 1))
    items = [_item(p, shape, peak, total, allowed) for p, shape in uncertain]
    items.sort(key=lambda item: -item.share)
    band = float(100.0 * 1.96 * np.sqrt(variance.max()) / peak)
    return SurveyPlan(
        machine.name, load_kg, see_percent, band, tuple(items), _text(machine, items, see_percent, band)
    )


def _item(parameter: Parameter, shape: np.ndarray, peak: float, total: float, allowed: float) -> SurveyItem:
    per_u = float(100.0 * np.abs(shape).max() / peak)
    u = parameter.u / parameter.per_unit
    needed = allowed * u / per_u if per_u > 1e-6 else float("inf")
    return SurveyItem(
        name=parameter.name,
        how=_how(parameter.name),
        surveyed=parameter.text(),
        unit=spoken_unit(parameter.unit),
        u=u,
        needed_u=needed,
        per_unit_percent=per_u / u,
        share=float(np.sum(shape**2)) / total if total > 0.0 else 0.0,
        enough=u <= needed,
    )


def _how(name: str) -> str:
    key = name.rpartition(".")[2]
    if key in _HOW:
        return _HOW[key]
    return next(
        (how for part, how in _OTHER_HOW.items() if part in key), "measure it, or take it from a data sheet"
    )


def _text(machine: Machine, items: list[SurveyItem], see_percent: float, band_percent: float) -> str:
    lines = [
        f"{machine.name}: to see an error of {see_percent:g} % of the peak. As surveyed, the model's 95 % band is "
        f"±{band_percent:.1f} % of the peak."
    ]
    lines += [f"- {readable(item.name)}: {item.surveyed}; {_worth(item)} How: {item.how}." for item in items]
    return "\n".join(lines)


def _worth(item: SurveyItem) -> str:
    """What a dimension does to the curve, and whether it is known well enough."""
    if not np.isfinite(item.needed_u):
        return "hardly matters to the force at rest."
    effect = f"{item.per_unit_percent:.2g} % of the peak per {item.unit or 'unit'}"
    if item.needed_u > 20.0 * item.u:
        return f"{effect}; hardly matters."
    need = f"know it to {item.needed_u:.2g} {item.unit}".strip().replace(" °", "°")
    return f"{effect}; {need} ({'good enough' if item.enough else 'measure better'})."
