"""Local gravity from latitude and height.

Normal gravity on the WGS 84 ellipsoid by Somigliana's closed formula, and its decrease with height to
second order. Real gravity differs from it by the local anomaly, for which an uncertainty is stated.

Sources: National Geospatial-Intelligence Agency, NGA.STND.0036 (WGS 84), 4.2, from memory; for GRS 80, which only
checks use, H. Moritz, "Geodetic Reference System 1980", J. Geodesy 74 (2000) 128-133; Heiskanen & Moritz, Physical
Geodesy (1967), 2-123, from memory; standard acceleration of gravity: 3rd CGPM (1901).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from feltload.core import STANDARD_GRAVITY_M_S2, InputError

# Half the range from equator to pole at sea level (9.780 to 9.832 m/s^2), taken as rectangular.
_UNKNOWN_PLACE_U_M_S2: Final = 0.026 / math.sqrt(3.0)
# Free-air anomalies: 35 mGal standard deviation over the Earth (Heiskanen & Moritz, 7-3: variance 1201 mGal^2,
# from memory); 50 mGal for single points on land (common practice, no source).
_ANOMALY_U_M_S2: Final = 5e-4
# They follow the rock underfoot where land is high: half the plate of 2670 kg/m^3, 2 π G ρ
# (Heiskanen & Moritz, 3-3, from memory); that half of it shows: common practice, no source.
_ROCK_U_PER_S2: Final = 0.5 * 1.1195e-6
# Inhabited places without a stated height: within a few hundred metres of sea level, rarely above 1000 m. A stated one
# is good to 10 m. Common practice, no source.
_UNKNOWN_HEIGHT_M: Final = 150.0
_UNKNOWN_HEIGHT_U_M: Final = 300.0


@dataclass(frozen=True)
class Ellipsoid:
    """Normal-gravity constants of a reference ellipsoid.

    Attributes
    ----------
    equator_m_s2 : float
        Normal gravity on the equator.
    k : float
        Somigliana's constant b γ_pole / (a γ_equator) - 1.
    e2 : float
        First eccentricity squared.
    a_m, flattening, m : float
        Semi-major axis, flattening, and ω² a² b / (GM).
    """

    equator_m_s2: float
    k: float
    e2: float
    a_m: float
    flattening: float
    m: float


WGS84: Final = Ellipsoid(
    9.7803253359, 0.00193185265241, 0.00669437999014, 6378137.0, 1 / 298.257223563, 0.00344978650684
)
GRS80: Final = Ellipsoid(
    9.7803267715, 0.001931851353, 0.0066943800229, 6378137.0, 1 / 298.257222101, 0.00344978600308
)


@dataclass(frozen=True)
class Gravity:
    """Local gravity with its standard uncertainty.

    Attributes
    ----------
    value : float
        Acceleration in m/s^2.
    u : float
        Standard uncertainty in m/s^2.
    text : str
        Where the value comes from.
    """

    value: float
    u: float
    text: str


def normal_gravity_m_s2(latitude_rad: float, height_m: float = 0.0, ellipsoid: Ellipsoid = WGS84) -> float:
    """Normal gravity at a geodetic latitude and ellipsoidal height (m/s^2).

    Heights above sea level may be used: the geoid lies within 110 m of the ellipsoid, 3.4e-5 of gravity
    at most.
    """
    s2 = math.sin(latitude_rad) ** 2
    surface = ellipsoid.equator_m_s2 * (1 + ellipsoid.k * s2) / math.sqrt(1 - ellipsoid.e2 * s2)
    ratio = height_m / ellipsoid.a_m
    falling = 1 - 2 * (1 + ellipsoid.flattening + ellipsoid.m - 2 * ellipsoid.flattening * s2) * ratio
    return surface * (falling + 3 * ratio**2)


def local_gravity(latitude_rad: float | None = None, height_m: float | None = None) -> Gravity:
    """Gravity at a place, or standard gravity with a wide uncertainty where the place is unknown.

    Parameters
    ----------
    latitude_rad : float or None
        Geodetic latitude; the sign of the hemisphere does not matter.
    height_m : float or None
        Height above sea level; None widens the uncertainty.

    Returns
    -------
    Gravity

    Raises
    ------
    InputError
        Latitude beyond a pole, height not on land, or a height without a latitude.
    """
    if latitude_rad is None:
        if height_m is not None:
            raise InputError(
                "a height without a latitude does not give gravity", remedy="state the latitude too"
            )
        return Gravity(STANDARD_GRAVITY_M_S2, _UNKNOWN_PLACE_U_M_S2, "standard gravity, place not stated")
    if not abs(latitude_rad) <= math.pi / 2:
        raise InputError(
            f"latitude {math.degrees(latitude_rad):g}° lies beyond a pole",
            remedy="state it between -90° and 90°; a bare number in radians is rarely meant",
        )
    if height_m is None:
        height, u_height, stated = _UNKNOWN_HEIGHT_M, _UNKNOWN_HEIGHT_U_M, "height not stated"
    elif -500.0 <= height_m <= 9000.0:
        height, u_height, stated = height_m, 10.0, f"{height_m:.0f} m"
    else:
        raise InputError(
            f"height {height_m:g} m is not on land", remedy="state metres above sea level, -500 to 9000"
        )
    value = normal_gravity_m_s2(latitude_rad, height)
    slope = abs(normal_gravity_m_s2(latitude_rad, height + 1.0) - value)
    degrees = f"{math.degrees(latitude_rad):.3f}°"
    spread = math.hypot(_ANOMALY_U_M_S2, _ROCK_U_PER_S2 * height, slope * u_height)
    return Gravity(value, spread, f"WGS 84 at {degrees}, {stated}")
