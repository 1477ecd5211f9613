"""Rotation as a user would otherwise write it: a general-purpose orientation filter, offline."""

from __future__ import annotations

import numpy as np
from scipy.spatial.transform import Rotation
from vqf import offlineVQF


def filter_angle(times, gyro, accel, axis):
    """What a user would write: the orientation filter, then the turning about the hinge."""
    out = offlineVQF(
        np.ascontiguousarray(gyro), np.ascontiguousarray(accel), None, float(np.median(np.diff(times)))
    )
    turned = Rotation.from_quat(out["quat6D"], scalar_first=True)
    return np.unwrap((turned[0].inv() * turned).as_rotvec() @ axis, period=2 * np.pi)
