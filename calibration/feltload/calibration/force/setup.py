"""What was stated about a load-cell calibration: sensor, people, place, air, weights.

It stands as ``# key: value`` lines at the head of a readings file, so that the file alone reproduces its
certificate, and any of it can be given by the caller instead.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from feltload.calibration.errors import ReadingsError
from feltload.core import Dimension, parse_quantity


@dataclass(frozen=True)
class ForceSetup:
    """Circumstances of a load-cell calibration.

    Attributes
    ----------
    serial, sensor, number, calibrated_by, place : str
        Serial number of the cell (needed for a certificate), its type, the certificate's number, who, where.
    date : datetime.date or None
        Day of the calibration.
    valid_months : int
        Months until expiry.
    latitude_rad, height_m : float or None
        Place, for gravity.
    gravity_m_s2, gravity_u_m_s2 : float or None
        Gravity measured or taken from a gravity map at the place, and its standard uncertainty.
    temperature_c, pressure_hpa, humidity_percent : float or None
        Air.
    rated_capacity_n : float or None
        Force that must not be exceeded.
    mass_u_relative : float or None
        Relative standard uncertainty of all masses that state none of their own.
    density_kg_m3, density_u_kg_m3 : float or None
        Density of the weights.
    true_mass : bool
        The masses are true masses instead of conventional ones.
    weights, traceability, fittings, indicator : str
        Which weights they are (set, numbers), where their masses come from (their certificate), what the load was
        led in with (shackles, rod ends), and the electronics that the readings come from.
    loading : str
        "tension" or "compression"; empty where not stated.
    preloads : int or None
        How many times the highest load was put on before the first series.
    note : str
        Free text for the certificate.
    """

    serial: str = ""
    sensor: str = ""
    number: str = ""
    calibrated_by: str = ""
    place: str = ""
    date: dt.date | None = None
    valid_months: int = 12
    latitude_rad: float | None = None
    height_m: float | None = None
    gravity_m_s2: float | None = None
    gravity_u_m_s2: float | None = None
    temperature_c: float | None = None
    pressure_hpa: float | None = None
    humidity_percent: float | None = None
    rated_capacity_n: float | None = None
    mass_u_relative: float | None = None
    density_kg_m3: float | None = None
    density_u_kg_m3: float | None = None
    true_mass: bool = False
    weights: str = ""
    traceability: str = ""
    fittings: str = ""
    indicator: str = ""
    loading: str = ""
    preloads: int | None = None
    note: str = ""

    def overridden(self, other: ForceSetup | None) -> ForceSetup:
        """This setup, with everything that `other` states in place of its own."""
        if other is None:
            return self
        default = ForceSetup()
        stated = {
            field.name: getattr(other, field.name)
            for field in dataclasses.fields(other)
            if getattr(other, field.name) != getattr(default, field.name)
        }
        return dataclasses.replace(self, **stated)


_TEXT: Final = {
    "serial": "serial",
    "sensor": "sensor",
    "number": "number",
    "calibrated by": "calibrated_by",
    "place": "place",
    "weights": "weights",
    "traceability": "traceability",
    "fittings": "fittings",
    "indicator": "indicator",
    "note": "note",
}
_QUANTITY: dict[str, tuple[str, Dimension]] = {
    "latitude": ("latitude_rad", "angle"),
    "height": ("height_m", "length"),
    "temperature": ("temperature_c", "temperature"),
    "pressure": ("pressure_hpa", "pressure"),
    "rated capacity": ("rated_capacity_n", "force"),
}
HEADER_KEYS: Final = (
    *_TEXT,
    *_QUANTITY,
    "date",
    "valid",
    "humidity",
    "gravity",
    "mass uncertainty",
    "weight density",
    "mass kind",
    "loading",
    "preloads",
)


def parse_setup(header: Mapping[str, str], *, where: str | None = None) -> ForceSetup:
    """Setup from the ``# key: value`` lines of a readings file.

    Raises
    ------
    ReadingsError
        An unknown key, or a value that its key cannot have.
    QuantityError
        A quantity without its unit.
    """
    values: dict[str, object] = {}
    for key, text in header.items():
        at = f"{where}: {key}" if where else key
        if key in _TEXT:
            values[_TEXT[key]] = text
        elif key in _QUANTITY:
            name, dimension = _QUANTITY[key]
            si = parse_quantity(text, dimension, where=at).value
            values[name] = {"temperature": si - 273.15, "pressure": si / 100.0}.get(dimension, si)
        elif key == "weight density":
            values["density_kg_m3"], values["density_u_kg_m3"] = _density(text, at)
        elif key == "gravity":
            values["gravity_m_s2"], values["gravity_u_m_s2"] = _gravity(text, at)
        elif key == "mass uncertainty":
            values["mass_u_relative"] = _percent(text, at) / 100.0
        elif key == "humidity":
            values["humidity_percent"] = _percent(text, at)
        elif key == "date":
            values["date"] = _date(text, at)
        elif key == "valid":
            values["valid_months"] = _months(text, at)
        elif key == "loading":
            values["loading"] = _one_of(text, ("tension", "compression"), "direction of loading", at)
        elif key == "preloads":
            values["preloads"] = _count(text, at)
        elif key == "mass kind":
            values["true_mass"] = _one_of(text, ("conventional", "true"), "kind of mass", at) == "true"
        else:
            raise ReadingsError(
                f'unknown key "{key}"', where=where, remedy=f"known: {', '.join(HEADER_KEYS)}"
            )
    return dataclasses.replace(ForceSetup(), **values)  # type: ignore[arg-type]


def _percent(text: str, where: str) -> float:
    try:
        value = float(text.removesuffix("%").strip())
    except ValueError:
        value = math.nan
    if not text.endswith("%") or not 0 <= value <= 100:
        raise ReadingsError(f'"{text}" is not a percentage', where=where, remedy='write for example "0.02 %"')
    return value


def _gravity(text: str, where: str) -> tuple[float, float]:
    quantity = parse_quantity(text, "acceleration", where=where)
    if not 9.76 < quantity.value < 9.84 or quantity.u is None:
        raise ReadingsError(
            f'"{text}" is not the gravity of a place with its uncertainty',
            where=where,
            remedy='write for example "9.81234(2) m/s^2", or leave it out and state the latitude',
        )
    return quantity.value, quantity.u


def _density(text: str, where: str) -> tuple[float, float]:
    number = text.removesuffix("kg/m3").removesuffix("kg/m^3")
    quantity = parse_quantity(number, "dimensionless", where=where)
    if number == text or not 500 <= quantity.value <= 23000:
        raise ReadingsError(
            f'"{text}" is not the density of a weight',
            where=where,
            remedy='write for example "7850(100) kg/m3"',
        )
    return quantity.value, 0.03 * quantity.value if quantity.u is None else quantity.u


def _date(text: str, where: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise ReadingsError(f'"{text}" is not a date', where=where, remedy="write YYYY-MM-DD") from error


def _months(text: str, where: str) -> int:
    count = text.removesuffix("months").removesuffix("month").strip()
    if not count.isdigit() or not 1 <= int(count) <= 60:
        raise ReadingsError(
            f'"{text}" is not a time of validity', where=where, remedy='write "12 months", 60 at most'
        )
    return int(count)


def _one_of(text: str, known: tuple[str, ...], what: str, where: str) -> str:
    if text not in known:
        raise ReadingsError(f'"{text}" is no {what}', where=where, remedy=" or ".join(known))
    return text


def _count(text: str, where: str) -> int:
    if not text.isascii() or not text.isdigit() or len(text) > 2:
        raise ReadingsError(f'"{text}" is not a number of times', where=where, remedy="write for example 3")
    return int(text)
