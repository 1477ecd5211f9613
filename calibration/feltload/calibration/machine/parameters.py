"""Surveyed dimensions: value, standard uncertainty, the unit they were written in, and their words.

A machine file gives quantities. Where it gives no uncertainty a default is taken, marked as such, so that
a budget can show it: lengths 2 mm, angles 0.5°, masses 2 % (an unweighed nominal mass is good to about
2-3 %: common practice, no source), stiffness and band forces 5 %, linear density 2 %, efficiencies and
friction coefficients 0.02; ratios are exact.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Final

from pydantic import BaseModel, BeforeValidator, ConfigDict
from pydantic_core import PydanticCustomError

from feltload.core import Dimension, Quantity, QuantityError, format_quantity, parse_quantity, si_per_unit


@dataclass(frozen=True)
class Measures:
    """What a field of a machine file measures, and its standard uncertainty when none is given.

    Attributes
    ----------
    dimension : str
        Dimension of the quantity.
    default_u : float
        Standard uncertainty in SI taken when the file gives none.
    relative : bool
        `default_u` is a fraction of the value.
    """

    dimension: Dimension
    default_u: float = 0.0
    relative: bool = False

    def u_of(self, value: float) -> float:
        """Default standard uncertainty (SI) at `value` (SI)."""
        return self.default_u * abs(value) if self.relative else self.default_u


def read_quantity(dimension: Dimension, written: Any) -> Any:
    """Read one value of a machine file; raises what pydantic turns into an error of that key."""
    if written is None or isinstance(written, Quantity):
        return written
    if dimension == "dimensionless" and isinstance(written, int | float) and not isinstance(written, bool):
        written = repr(written)
    if not isinstance(written, str):
        # A bare TOML number has no unit: the parser says so in the same words as for "655".
        written = str(written)
    try:
        return parse_quantity(written, dimension)
    except QuantityError as error:
        raise PydanticCustomError(
            "quantity", "{what}", {"what": error.what, "remedy": error.remedy or ""}
        ) from error


def _reader(dimension: Dimension) -> BeforeValidator:
    return BeforeValidator(functools.partial(read_quantity, dimension))


_LENGTH: Final = Measures("length", 0.002)
_ANGLE: Final = Measures("angle", math.radians(0.5))
MASS: Final = Measures("mass", 0.02, relative=True)
_STIFFNESS: Final = Measures("stiffness", 0.05, relative=True)
FORCE_SCALE: Final = Measures("dimensionless", 0.05)
_DENSITY: Final = Measures("linear-density", 0.02, relative=True)
_RATIO: Final = Measures("dimensionless", 0.0)
_LOSS: Final = Measures("dimensionless", 0.02)

Length = Annotated[Quantity, _reader("length"), _LENGTH]
MaybeLength = Annotated[Quantity | None, _reader("length"), _LENGTH]
Angle = Annotated[Quantity, _reader("angle"), _ANGLE]
MaybeAngle = Annotated[Quantity | None, _reader("angle"), _ANGLE]
Mass = Annotated[Quantity, _reader("mass"), MASS]
MaybeMass = Annotated[Quantity | None, _reader("mass"), MASS]
Stiffness = Annotated[Quantity, _reader("stiffness"), _STIFFNESS]
LinearDensity = Annotated[Quantity, _reader("linear-density"), _DENSITY]
Ratio = Annotated[Quantity, _reader("dimensionless"), _RATIO]
Loss = Annotated[Quantity, _reader("dimensionless"), _LOSS]
MaybeLoss = Annotated[Quantity | None, _reader("dimensionless"), _LOSS]
# Rows of a table: measured together, so their uncertainty is one parameter of the table's owner.
TableLength = Annotated[Quantity, _reader("length")]
TableAngle = Annotated[Quantity, _reader("angle")]
TableForce = Annotated[Quantity, _reader("force")]


class Section(BaseModel):
    """A table of a machine file; unknown keys are errors."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)


@dataclass(frozen=True)
class Parameter:
    """One surveyed dimension.

    Attributes
    ----------
    name : str
        Owner and key, "plates.radius".
    value, u : float
        Surveyed value and its standard uncertainty, SI.
    unit : str
        Unit the person wrote.
    per_unit : float
        SI value of one such unit.
    default_u : bool
        The uncertainty is a default, not the person's.
    """

    name: str
    value: float
    u: float
    unit: str
    per_unit: float
    default_u: bool

    def text(self, value: float | None = None, u: float | None = None) -> str:
        """Value and uncertainty (the surveyed ones unless given, SI) in the person's unit."""
        value = self.value if value is None else value
        u = self.u if u is None else u
        written = format_quantity(value / self.per_unit, u / self.per_unit, spoken_unit(self.unit))
        return written.replace(" °", "°")


def spoken_unit(unit: str) -> str:
    """The unit as printed beside a number."""
    return {"deg": "°", "degree": "°", "degrees": "°"}.get(unit, unit)


def make_parameter(name: str, quantity: Quantity, measures: Measures) -> Parameter:
    """Parameter of a quantity, with the default uncertainty if it has none."""
    default = quantity.u is None
    return Parameter(
        name=name,
        value=quantity.value,
        u=measures.u_of(quantity.value) if quantity.u is None else quantity.u,
        unit=quantity.unit,
        per_unit=si_per_unit(quantity.unit, measures.dimension),
        default_u=default,
    )


def parameters_of(section: Section, owner: str = "") -> Iterator[Parameter]:
    """Every quantity that a section gives, as parameters named "owner.key" (or "key")."""
    for key, field in type(section).model_fields.items():
        quantity = getattr(section, key)
        measures = next((m for m in field.metadata if isinstance(m, Measures)), None)
        if isinstance(quantity, Quantity) and measures is not None:
            yield make_parameter(f"{owner}.{key}" if owner else key, quantity, measures)


# How a change of each kind of dimension is said, (larger, smaller) than surveyed.
_WORDS: Final[dict[str, tuple[str, str]]] = {
    "radius": ("{size} further out", "{size} further in"),
    "angle": ("{size} further round (ccw)", "{size} further back (cw)"),
    "mass": ("{size} heavier", "{size} lighter"),
}


def change_in_words(parameter: Parameter, shift: float) -> str:
    """A change of one dimension as a person would say it.

    Parameters
    ----------
    parameter : Parameter
        The dimension.
    shift : float
        Fitted minus surveyed, SI.

    Examples
    --------
    "plates radius 15 mm further out than surveyed (285.1(1.9) mm, not 270.0(3.0) mm)"
    """
    size = f"{abs(shift) / parameter.per_unit:.2g} {spoken_unit(parameter.unit)}".strip().replace(" °", "°")
    key = parameter.name.rpartition(".")[2]
    words = _WORDS.get(key, ("{size} larger", "{size} smaller"))[0 if shift >= 0 else 1]
    return f"{readable(parameter.name)} {words.format(size=size)} than surveyed"


def readable(name: str) -> str:
    """A parameter's name without dots and underscores."""
    return name.replace(".", " ").replace("_", " ")
