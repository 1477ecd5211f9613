"""Surveyed dimensions: which one, its value, standard uncertainty, and the unit it was written in.

A machine file gives quantities. Where it gives no uncertainty a default is taken, marked as such, so that
a budget can show it: lengths 2 mm, angles 0.5°, masses 2 % (an unweighed nominal mass is good to about
2-3 %), stiffness and band forces 5 %, linear density 2 %, efficiencies and friction coefficients 0.02; ratios are
exact. All of these are common practice, no source.

A survey goes wrong in known ways, and none of them by more than the `blunder` of its kind (common practice, no source):
a tape is read from the wrong edge or to the wrong part of a bolt (50 mm, and never 30 % of a length;
80 mm and 45 % of a wheel or drum, which a rope or tyre makes larger); an inclinometer
is set on the wrong face (15°); a part is weighed with another on it, or guessed (40 %); bands age (50 %).
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Any, Final, NamedTuple, cast

from pydantic import BaseModel, BeforeValidator, ConfigDict
from pydantic_core import PydanticCustomError

from feltload.calibration.machine import limits
from feltload.calibration.machine.limits import Limits
from feltload.core import Dimension, Quantity, QuantityError, parse_quantity, si_per_unit


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
    blunder, blunder_share : float
        Farthest that a survey is plausibly wrong, in SI and as a fraction of the value.
    """

    dimension: Dimension
    default_u: float = 0.0
    relative: bool = False
    blunder: float = math.inf
    blunder_share: float = math.inf

    def u_of(self, value: float) -> float:
        """Default standard uncertainty (SI) at `value` (SI)."""
        return self.default_u * abs(value) if self.relative else self.default_u

    def blunder_of(self, value: float, u: float) -> float:
        """Farthest that a survey of `value` (SI) with the standard uncertainty `u` is plausibly wrong, SI."""
        return max(min(self.blunder, self.blunder_share * abs(value)), 4.0 * u)


def read_quantity(dimension: Dimension, limits: Limits, written: Any) -> Any:
    """Read one value of a machine file; raises what pydantic turns into an error of that key."""
    if written is None or isinstance(written, Quantity):
        return written
    if dimension == "dimensionless" and isinstance(written, int | float) and not isinstance(written, bool):
        written = repr(written)
    if not isinstance(written, str):
        # A bare TOML number has no unit: the parser says so in the same words as for "655".
        written = str(written)
    try:
        quantity = parse_quantity(written, dimension)
    except QuantityError as error:
        raise PydanticCustomError(
            "quantity", "{what}", {"what": error.what, "remedy": error.remedy or ""}
        ) from error
    if not limits.allow(quantity.value):
        said = {"what": f'"{written}" cannot be: {limits.reason}', "remedy": "check the number and its unit"}
        raise PydanticCustomError("quantity", "{what}", said)
    if not limits.allow_u(quantity.u):
        said = {
            "what": f'the uncertainty of "{written}" is so large that nothing was measured',
            "remedy": "check the uncertainty and its unit",
        }
        raise PydanticCustomError("quantity", "{what}", said)
    return quantity


class Within(BeforeValidator):
    """Reader of a quantity of a machine file that lies within its limits."""

    def __init__(self, dimension: Dimension, limit: Limits) -> None:
        super().__init__(functools.partial(read_quantity, dimension, limit))

    @property
    def limits(self) -> Limits:
        """What it lets pass."""
        return cast(Limits, cast(functools.partial[Any], self.func).args[1])


def within(dimension: Dimension, limit: Limits) -> Within:
    """Reader of a quantity of a machine file that lies within its limits."""
    return Within(dimension, limit)


LENGTH: Final = Measures("length", 0.002, blunder=0.05, blunder_share=0.3)
ANGLE: Final = Measures("angle", math.radians(0.5), blunder=math.radians(15.0))
_RADIUS: Final = Measures("length", 0.002, blunder=0.08, blunder_share=0.45)
MASS: Final = Measures("mass", 0.02, relative=True, blunder_share=0.4)
_STIFFNESS: Final = Measures("stiffness", 0.05, relative=True, blunder_share=0.5)
FORCE_SCALE: Final = Measures("dimensionless", 0.05, blunder_share=0.5)
_DENSITY: Final = Measures("linear-density", 0.02, relative=True, blunder_share=0.4)
_RATIO: Final = Measures("dimensionless", 0.0)
LOSS: Final = Measures("dimensionless", 0.02, blunder=0.3)

Length = Annotated[Quantity, within("length", limits.LENGTH), LENGTH]
MaybeLength = Annotated[Quantity | None, within("length", limits.LENGTH), LENGTH]
Size = Annotated[Quantity, within("length", limits.SIZE), LENGTH]
MaybeGyrationRadius = Annotated[Quantity | None, within("length", limits.GYRATION_RADIUS), LENGTH]
Angle = Annotated[Quantity, within("angle", limits.ANGLE), ANGLE]
MaybeAngle = Annotated[Quantity | None, within("angle", limits.ANGLE), ANGLE]
HandleRadius = Annotated[Quantity, within("length", limits.HANDLE_RADIUS), LENGTH]
CrankLength = Annotated[Quantity, within("length", limits.CRANK), LENGTH]
LinkLength = Annotated[Quantity, within("length", limits.LINK), LENGTH]
MaybeDrumRadius = Annotated[Quantity | None, within("length", limits.DRUM_RADIUS), _RADIUS]
WheelRadius = Annotated[Quantity, within("length", limits.DRUM_RADIUS), _RADIUS]
Inclination = Annotated[Quantity, within("angle", limits.INCLINATION), ANGLE]
Incline = Annotated[Quantity, within("angle", limits.INCLINE), ANGLE]
Wrap = Annotated[Quantity, within("angle", limits.WRAP), ANGLE]
Stiffness = Annotated[Quantity, within("stiffness", limits.STIFFNESS), _STIFFNESS]
LinearDensity = Annotated[Quantity, within("linear-density", limits.DENSITY), _DENSITY]
Ratio = Annotated[Quantity, within("dimensionless", limits.RATIO), _RATIO]
Efficiency = Annotated[Quantity, within("dimensionless", limits.EFFICIENCY), LOSS]
Friction = Annotated[Quantity, within("dimensionless", limits.FRICTION), LOSS]
# Rows of a table: measured together, so their uncertainty is one parameter of the table's owner.
TableLength = Annotated[Quantity, within("length", limits.SIZE)]
TableRadius = Annotated[Quantity, within("length", limits.DRUM_RADIUS)]
TableAngle = Annotated[Quantity, within("angle", limits.CAM_TURN)]
TableForce = Annotated[Quantity, within("force", limits.TABLE_FORCE)]


class Section(BaseModel):
    """A table of a machine file; unknown keys are errors."""

    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)


class ParameterKey(NamedTuple):
    """Which dimension of which part of a machine. A tuple, because models look dimensions up by it all the time.

    Attributes
    ----------
    dimension : str
        Key in the machine file, such as "radius".
    part : str
        Name of the mass, add-on, guide or cam; empty for the mechanism itself.
    """

    dimension: str
    part: str = ""

    @property
    def dotted(self) -> str:
        """Its form in files: "plates.radius", "handle_radius"."""
        return f"{self.part}.{self.dimension}" if self.part else self.dimension

    @classmethod
    def from_dotted(cls, text: str) -> ParameterKey:
        """Read its form in files back."""
        part, _, dimension = text.rpartition(".")
        return cls(dimension, part)


START_ANGLE: Final = ParameterKey("start_angle")
HINGE_INCLINATION: Final = ParameterKey("hinge_inclination")


@dataclass(frozen=True)
class Parameter:
    """One surveyed dimension.

    Attributes
    ----------
    key : ParameterKey
        Which one.
    value, u : float
        Surveyed value and its standard uncertainty, SI.
    unit : str
        Unit the person wrote.
    per_unit : float
        SI value of one such unit.
    u_is_default : bool
        The uncertainty is a default, not the person's.
    blunder : float
        Farthest that the survey is plausibly wrong, SI.
    declared : bool
        The file gives it; False where a default stands for it.
    limits : Limits
        What it can be at all.
    """

    key: ParameterKey
    value: float
    u: float
    unit: str
    per_unit: float
    u_is_default: bool
    blunder: float
    declared: bool = True
    limits: Limits = limits.ANYTHING

    @property
    def plausible(self) -> tuple[float, float]:
        """Least and greatest value (SI) that it can have, by how wrong a survey gets and by what there is."""
        low, high = self.value - self.blunder, self.value + self.blunder
        return max(low, min(self.limits.low, self.value)), min(high, max(self.limits.high, self.value))


def unit_symbol(unit: str) -> str:
    """The symbol of a unit that a person may have spelt out."""
    return {"deg": "°", "degree": "°", "degrees": "°"}.get(unit, unit)


def make_parameter(
    key: ParameterKey,
    quantity: Quantity,
    measures: Measures,
    *,
    declared: bool = True,
    limit: Limits = limits.ANYTHING,
) -> Parameter:
    """Parameter of a quantity, with the default uncertainty if it has none."""
    u = measures.u_of(quantity.value) if quantity.u is None else quantity.u
    return Parameter(
        key=key,
        value=quantity.value,
        u=u,
        unit=quantity.unit,
        per_unit=si_per_unit(quantity.unit, measures.dimension),
        u_is_default=quantity.u is None,
        blunder=measures.blunder_of(quantity.value, u),
        declared=declared,
        limits=limit,
    )


def parameters_of(section: Section, part: str = "") -> Iterator[Parameter]:
    """Every quantity that a section gives, as dimensions of `part`."""
    for dimension, field in type(section).model_fields.items():
        quantity = getattr(section, dimension)
        measures = next((m for m in field.metadata if isinstance(m, Measures)), None)
        if isinstance(quantity, Quantity) and measures is not None:
            yield make_parameter(
                ParameterKey(dimension, part),
                quantity,
                measures,
                declared=dimension in section.model_fields_set,
                limit=next((m.limits for m in field.metadata if isinstance(m, Within)), limits.ANYTHING),
            )
