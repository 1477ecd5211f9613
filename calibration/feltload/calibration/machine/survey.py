"""What to measure on a machine, and how well, to see a given error in its resistance profile."""

from __future__ import annotations

import math
from dataclasses import dataclass
from importlib.resources import files
from typing import TYPE_CHECKING, Final

import numpy as np

from feltload.calibration.errors import MachineError
from feltload.calibration.machine.hints import one_of
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanisms import MECHANISMS
from feltload.calibration.machine.model_band import predict, shapes_of
from feltload.calibration.machine.parameters import Parameter
from feltload.core import (
    NORMAL_COVERAGE_95,
    STANDARD_GRAVITY_M_S2,
    Curve,
    Floats,
    Picture,
    Scale,
    Shown,
    Summary,
    mass_text,
)

if TYPE_CHECKING:
    import pandas as pd

_HARDLY: Final = 20.0
"""A dimension that may be this many times as uncertain as it is hardly matters."""
_NO_EFFECT_PERCENT: Final = 1e-6
_NO_FORCE_N: Final = 0.1


@dataclass(frozen=True)
class SurveyItem:
    """One dimension to measure.

    Attributes
    ----------
    parameter : Parameter
        As it stands.
    needed_u : float
        Standard uncertainty that suffices, SI; infinite where it does not matter to the force at rest.
    effect_percent : float
        Largest change of the force, in percent of the peak, by its standard uncertainty as it stands.
    share : float
        Its part of the model's variance now, 0 to 1.
    effect_n : ndarray, shape (n,)
        Change of the force along the travel by its standard uncertainty as it stands.
    """

    parameter: Parameter
    needed_u: float
    effect_percent: float
    share: float
    effect_n: Floats

    @property
    def effect_n_per_unit(self) -> Floats:
        """Change of the force along the travel per unit that the person wrote, (n,)."""
        return np.asarray(self.effect_n * (self.parameter.per_unit / self.parameter.u))

    @property
    def effect_percent_per_unit(self) -> float:
        """Largest change of the force, in percent of the peak, per unit that the person wrote."""
        return self.effect_percent / (self.parameter.u / self.parameter.per_unit)

    @property
    def enough(self) -> bool:
        """Whether it is known well enough."""
        return self.parameter.u <= self.needed_u

    @property
    def matters(self) -> bool:
        """Whether it must be known anywhere near as well as it is."""
        return self.needed_u <= _HARDLY * self.parameter.u


@dataclass(frozen=True, repr=False)
class SurveyPlan(Shown):
    """What to measure, what matters most first.

    Attributes
    ----------
    machine : str
        Its name.
    load_kg : float
        Load it was weighed at.
    see_percent : float
        Error of the curve that must be seen, percent of the peak.
    band_percent : float
        Largest half-width of the model's 95 % band now, percent of the peak.
    items : tuple of SurveyItem
        Every uncertain dimension.
    q_rad : ndarray, shape (n,)
        Rotations from the start stop, ascending.
    force_n, u95_n : ndarray, shape (n,)
        Predicted force at rest there, and the half-width of its 95 % band.
    """

    machine: str
    load_kg: float
    see_percent: float
    band_percent: float
    items: tuple[SurveyItem, ...]
    q_rad: Floats
    force_n: Floats
    u95_n: Floats

    def summary(self) -> Summary:
        """Every uncertain dimension: how well it is known, and how well it has to be."""
        rows = []
        for item in self.items:
            parameter, enough = item.parameter, math.isfinite(item.needed_u)
            needed = _said(item.needed_u, parameter) if enough else "does not change the force"
            rows.append(
                (parameter.key.dotted, _said(parameter.u, parameter), needed, f"{100.0 * item.share:.0f} %")
            )
        return Summary(
            f"Survey of {self.machine}, {mass_text(self.load_kg)}, predicted, not measured",
            ("dimension", "standard uncertainty", "suffices", "part of the variance"),
            tuple(rows),
            f"95 % band of the force ± {self.band_percent:.1f} % of the peak, wanted ± {self.see_percent:g} %",
        )

    def picture(self) -> Picture:
        """Predicted force with its band."""
        curve = Curve.within("", self.q_rad, self.force_n, self.u95_n)
        scale = Scale("angle", "rotation from the start stop, °", np.rad2deg)
        title = f"{self.machine}, {mass_text(self.load_kg)}, predicted, not measured"
        return Picture(title, "force at the handle, N", (curve,), (scale,), line_name="static")

    def to_frame(self) -> pd.DataFrame:
        """One row a dimension: ``dimension, unit, value, u, needed_u`` (in `unit`), ``largest_effect_n, share``."""
        import pandas as pd

        rows = [
            (
                item.parameter.key.dotted,
                item.parameter.unit,
                item.parameter.value / item.parameter.per_unit,
                item.parameter.u / item.parameter.per_unit,
                item.needed_u / item.parameter.per_unit,
                float(np.abs(item.effect_n).max()),
                item.share,
            )
            for item in self.items
        ]
        names = ["dimension", "unit", "value", "u", "needed_u", "largest_effect_n", "share"]
        return pd.DataFrame(rows, columns=names)


def _said(u: float, parameter: Parameter) -> str:
    return f"{u / parameter.per_unit:.2g} {parameter.unit}".strip()


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
            remedy=one_of(MECHANISMS),
        )
    return (
        files("feltload.calibration.machine.mechanisms")
        .joinpath("examples", f"{kind}.toml")
        .read_text(encoding="utf-8")
    )


def plan_survey(
    machine: Machine,
    *,
    travel_rad: float = math.radians(80.0),
    load_kg: float = 40.0,
    see_percent: float = 2.0,
) -> SurveyPlan:
    """Weigh every dimension by what it does to the curve.

    Parameters
    ----------
    machine : Machine
        The survey.
    travel_rad : float
        Travel from the start stop.
    load_kg : float
        Load.
    see_percent : float
        Error of the curve to be seen, percent of the peak: the 95 % band of the model must not be wider. Every
        dimension that matters gets the same share of it.

    Raises
    ------
    MachineError
        The machine file says nothing about what is lifted, or nothing resists.
    GeometryError
        The machine cannot be assembled over the travel.
    """
    machine.require_masses([load_kg])
    q = np.linspace(min(travel_rad, 0.0), max(travel_rad, 0.0), 41)
    loads = np.array([load_kg])
    force = predict(machine, q, loads, STANDARD_GRAVITY_M_S2)
    peak = float(np.abs(force).max())
    if peak < _NO_FORCE_N:
        raise MachineError(
            f"nothing resists at {load_kg:.3g} kg: the largest force is {peak:.2g} N",
            where=machine.name,
            remedy="give a load, or the masses of the machine's own parts",
        )
    shapes = shapes_of(machine, q, loads, STANDARD_GRAVITY_M_S2)
    variance = np.sum(shapes**2, axis=1)
    total = float(np.sum(variance))
    uncertain = [(p, shapes[:, i]) for i, p in enumerate(machine.parameters) if p.u > 0.0]
    weighing = [p for p, shape in uncertain if np.abs(shape).max() > 1e-4 * peak * see_percent / 100.0]
    allowed = see_percent / NORMAL_COVERAGE_95 / np.sqrt(max(len(weighing), 1))
    items = [_item(p, shape, peak, total, allowed) for p, shape in uncertain]
    items.sort(key=lambda item: -item.share)
    half = NORMAL_COVERAGE_95 * np.sqrt(variance)
    band = float(100.0 * half.max() / peak)
    return SurveyPlan(machine.name, load_kg, see_percent, band, tuple(items), q, force, half)


def _item(parameter: Parameter, shape: Floats, peak: float, total: float, allowed: float) -> SurveyItem:
    effect = float(100.0 * np.abs(shape).max() / peak)
    return SurveyItem(
        parameter,
        needed_u=allowed * parameter.u / effect if effect > _NO_EFFECT_PERCENT else math.inf,
        effect_percent=effect,
        share=float(np.sum(shape**2)) / total if total > 0.0 else 0.0,
        effect_n=shape,
    )
