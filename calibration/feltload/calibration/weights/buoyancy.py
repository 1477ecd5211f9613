"""Density of air and the force of a weight hanging in it.

A weight is bought or calibrated by its conventional mass: the mass of a body of density 8000 kg/m^3 that
balances it in air of 1.2 kg/m^3. The force it exerts follows from its true mass, less the weight of the
air it displaces.

Sources, from memory: OIML R 111-1:2004, E.3 (approximate air density, relative uncertainty 2e-4 for 900-1100 hPa,
10-30 °C, below 80 % humidity) and 2.7 (conventional mass); OIML D 28:2004, 4 and 5. What is assumed of air that is
not stated, and how wrong it and a reading may be: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from feltload.core import InputError

REFERENCE_AIR_KG_M3: Final = 1.2
REFERENCE_DENSITY_KG_M3: Final = 8000.0


@dataclass(frozen=True)
class AirDensity:
    """Density of air with its standard uncertainty, kg/m^3, and how it was found."""

    value: float
    u: float
    text: str


def air_density_kg_m3(temperature_c: float, pressure_hpa: float, humidity_percent: float) -> float:
    """Density of moist air by the approximation of OIML R 111-1:2004, formula E.3-1, from memory (kg/m^3)."""
    moist = 0.009 * humidity_percent * math.exp(0.061 * temperature_c)
    return (0.34848 * pressure_hpa - moist) / (273.15 + temperature_c)


def air_density(
    temperature_c: float | None,
    pressure_hpa: float | None,
    humidity_percent: float | None,
    height_m: float | None,
) -> AirDensity:
    """Density of air from what is known, with an uncertainty that covers what is not.

    A missing pressure is taken from the height by the standard atmosphere, a missing temperature as 20
    °C and a missing humidity as 50 %.

    Raises
    ------
    InputError
        A value that no room has: a pressure in another unit, a temperature in kelvin.
    """
    if temperature_c is not None and not -30.0 <= temperature_c <= 50.0:
        raise InputError(
            f"air temperature {temperature_c:g} °C is not that of a room", remedy="check its unit"
        )
    if pressure_hpa is not None and not 500.0 <= pressure_hpa <= 1100.0:
        raise InputError(
            f"air pressure {pressure_hpa:g} hPa is not that of a place on land",
            remedy="state station pressure in hPa",
        )
    if humidity_percent is not None and not 0.0 <= humidity_percent <= 100.0:
        raise InputError(f"humidity {humidity_percent:g} % is not between 0 and 100", remedy="correct it")
    # ISO 2533 standard atmosphere, troposphere: 288.15 K less 6.5 K/km.
    standard_hpa = 1013.25 * (1 - 2.25577e-5 * (150.0 if height_m is None else height_m)) ** 5.25588
    temperature, u_t = (20.0, 5.0) if temperature_c is None else (temperature_c, 1.0)
    pressure, u_p = (
        (standard_hpa, 12.0 if height_m is not None else 35.0)
        if pressure_hpa is None
        else (pressure_hpa, 1.0)
    )
    humidity, u_h = (50.0, 20.0) if humidity_percent is None else (humidity_percent, 5.0)
    value = air_density_kg_m3(temperature, pressure, humidity)
    parts = (
        air_density_kg_m3(temperature + u_t, pressure, humidity) - value,
        air_density_kg_m3(temperature, pressure + u_p, humidity) - value,
        air_density_kg_m3(temperature, pressure, humidity + u_h if humidity + u_h <= 100 else humidity - u_h)
        - value,
        2e-4 * value,
    )
    assumed = [
        name
        for name, given in (
            ("temperature", temperature_c),
            ("pressure", pressure_hpa),
            ("humidity", humidity_percent),
        )
        if given is None
    ]
    source = "OIML R 111-1 E.3" + (f", {', '.join(assumed)} assumed" if assumed else "")
    return AirDensity(value, math.sqrt(sum(part**2 for part in parts)), source)


def buoyancy_factor(air_kg_m3: float, density_kg_m3: float, *, conventional: bool = True) -> float:
    """Force of a weight over mass times gravity.

    Parameters
    ----------
    air_kg_m3 : float
        Density of the air around the weight.
    density_kg_m3 : float
        Density of the weight.
    conventional : bool
        The mass stated is conventional mass (as on certificates, stamps and balances); False for true mass.
    """
    true_over_stated = (
        (1 - REFERENCE_AIR_KG_M3 / REFERENCE_DENSITY_KG_M3) / (1 - REFERENCE_AIR_KG_M3 / density_kg_m3)
        if conventional
        else 1.0
    )
    return true_over_stated * (1 - air_kg_m3 / density_kg_m3)
