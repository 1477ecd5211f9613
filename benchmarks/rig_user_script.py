"""The script that a user would otherwise write: orientation filter, merge by arrival, low-pass, bin by angle."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.signal import butter, sosfiltfilt
from vqf import offlineVQF

Floats = NDArray[np.float64]


def binned_profile(
    force: pd.DataFrame, inertial: pd.DataFrame, start_angle_rad: float, *, bin_deg: float = 1.0
) -> tuple[Floats, Floats]:
    """Angle (rad) and mean force of both directions (N) per bin.

    Offline VQF without magnetometer, turn about the principal axis since the start, both streams merged by
    nearest arrival, 6 Hz zero-phase low-pass of both, samples moving faster than 5 deg/s, mean of the raising
    mean and the lowering mean in each bin.
    """
    time = inertial["host_s"].to_numpy()
    step = float((time[-1] - time[0]) / (time.size - 1))
    gyro = np.ascontiguousarray(inertial.filter(like="gyro").to_numpy(float))
    accel = np.ascontiguousarray(inertial.filter(like="accel").to_numpy(float))
    still = time < time[0] + 2.0
    gyro = np.ascontiguousarray(gyro - gyro[still].mean(axis=0))
    quaternion = offlineVQF(gyro, accel, None, step)["quat6D"]
    w0, v0 = quaternion[still][-1][0], quaternion[still][-1][1:]
    w, v = quaternion[:, 0], quaternion[:, 1:]
    turn_w = w * w0 + v @ v0
    turn_v = w0 * v - w[:, None] * v0 - np.cross(v0, v)
    _, _, axes = np.linalg.svd(turn_v, full_matrices=False)
    angle = np.unwrap(2.0 * np.arctan2(turn_v @ axes[0], turn_w))
    angle = angle - angle[still].mean()
    angle = angle * np.sign(angle[np.argmax(np.abs(angle))])
    merged = pd.merge_asof(
        pd.DataFrame({"host_s": time, "q": angle}).sort_values("host_s"),
        force[["host_s", "force_n"]].sort_values("host_s"),
        on="host_s",
        direction="nearest",
    )
    sections = butter(2, 6.0, fs=1.0 / step, output="sos")
    q = sosfiltfilt(sections, merged["q"].to_numpy())
    pull = sosfiltfilt(sections, merged["force_n"].to_numpy())
    rate = np.gradient(q, step)
    edges = np.arange(np.floor(np.degrees(q.min())), np.ceil(np.degrees(q.max())) + bin_deg, bin_deg)
    cell = np.digitize(np.degrees(q), edges) - 1
    middle, mean = [], []
    for k in range(edges.size - 1):
        up, down = pull[(cell == k) & (rate > np.radians(5))], pull[(cell == k) & (rate < -np.radians(5))]
        if up.size and down.size:
            middle.append(np.radians(edges[k] + 0.5 * bin_deg))
            mean.append(0.5 * (up.mean() + down.mean()))
    return np.array(middle) + start_angle_rad, np.array(mean)
