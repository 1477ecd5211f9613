"""Where gravity says that the hinge and the sensor are: tilt of the hinge, elevation of the sensor on its arm."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from feltload.core import STANDARD_GRAVITY_M_S2

if TYPE_CHECKING:
    from feltload.signal.hinge.parameters import HingeParameters

PLACE_U: Final = 0.002
"""Gravity of an unknown place against the standard one, relative: what stands against an accelerometer's scale."""
NEAREST_M: Final = 0.04
"""A sensor closer to the hinge than this has no direction from it (common practice, no source)."""
LEAST_ELEVATION_U_RAD: Final = math.radians(0.5)


@dataclass(frozen=True)
class Attitude:
    """What gravity said of one session's hinge and sensor.

    Attributes
    ----------
    session : str
    inclination_rad, u_inclination_rad : float
        Tilt of the hinge against the horizontal, 0 to pi/2, and its standard uncertainty.
    elevation_rad, u_elevation_rad : float or None
        Elevation of the line hinge -> sensor on the start stop, seen so that the concentric phase turns
        counter-clockwise; None where the sensor sits too close to the hinge, or the start was not seen.
    """

    session: str
    inclination_rad: float
    u_inclination_rad: float
    elevation_rad: float | None = None
    u_elevation_rad: float | None = None


def attitude_of(session: str, found: HingeParameters, *, start_seen: bool) -> Attitude:
    """Attitude from what the smoother found.

    Notes
    -----
    Two readings of the tilt t are weighed by their uncertainties: gravity along the hinge, g sin t, which a constant
    offset of the accelerometer shifts, and gravity in the plane of turning, g cos t, which only its scale changes.
    The sensor's place follows from its centripetal and tangential acceleration, against gravity at the start.
    """
    g = STANDARD_GRAVITY_M_S2
    along, in_plane = abs(found.gravity_along_hinge_m_s2), found.gravity_in_plane_m_s2
    by_offset = math.atan2(along, in_plane)
    u_by_offset = max(found.u_accel_offset_m_s2 * math.cos(by_offset) / g, 1e-4)
    share = min(in_plane / g, 1.0)
    by_scale = math.acos(share)
    u_by_scale = math.hypot(found.u_accel_scale, PLACE_U) * share / max(math.sin(by_offset), 1e-3)
    weights = u_by_offset**-2, u_by_scale**-2
    tilt = (weights[0] * by_offset + weights[1] * by_scale) / sum(weights)
    # Two readings further apart than they should be are both doubted.
    apart = abs(by_offset - by_scale) / math.hypot(u_by_offset, u_by_scale)
    u_tilt = max(1.0, apart / 2.0) / math.sqrt(sum(weights))
    up, beside = (float(value) for value in found.mount_radius_m)
    radius = math.hypot(up, beside)
    if not start_seen or radius < NEAREST_M:
        return Attitude(session, tilt, u_tilt)
    u_elevation = max(math.hypot(found.u_mount_m / radius, found.u_up_rad), LEAST_ELEVATION_U_RAD)
    return Attitude(session, tilt, u_tilt, math.atan2(up, -beside), u_elevation)
