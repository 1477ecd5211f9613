"""Rotation of the arm on public recordings of real sensors, against their encoder or cameras and an orientation filter.

    python benchmarks/study_recordings.py encoder
    python benchmarks/study_recordings.py stream
    python benchmarks/study_recordings.py pendulum
    python benchmarks/study_recordings.py free
    python benchmarks/study_recordings.py still

The recordings are fetched with git on first use into ``--folder`` and are no part of this project:

- encoder, stream: https://github.com/ssong47/compute_relative_angle_between_two_IMUs (MIT licence): a cheap six-axis
  sensor on a motor's shaft with an encoder, 100 Hz, 50, 150 and 300 degrees per second to and fro without a rest. "Yaw"
  turns about a vertical shaft. S. Y. Song, Y. Pei, E. T. Hsiao-Wecksler, IEEE Sensors Journal 22 (2022).
- pendulum, free: https://github.com/agnieszkaszczesna/RepoIMU (no licence stated): a pendulum of three bodies and a
  stick moved by hand, 90 to 166 Hz, with camera references. A. Szczesna and others, ICCVG 2016, LNCS 9972.

A reference has its own zero and clock: the mean difference and one constant lag a stretch are taken off ours and the
filter's alike. "In band" is the share of samples within 95 % of our uncertainty and the reference's own together; "of
seconds" the same of means over a second, in which what reference and sensor are apart in time averages out.
"""

from __future__ import annotations

import argparse
import subprocess
from pathlib import Path

import numpy as np
import pandas as pd
from scipy.io import loadmat
from scipy.ndimage import uniform_filter1d
from scipy.spatial.transform import Rotation

from feltload.signal.errors import MotionError
from feltload.signal.hinge.estimator import estimate_hinge
from feltload.signal.hinge.stream import HingeStream
from rig_orientation_filter import filter_angle

ENCODER = "compute_relative_angle_between_two_IMUs"
PENDULUM = "RepoIMU"
OWNERS = {ENCODER: "ssong47", PENDULUM: "agnieszkaszczesna"}
STRETCHES, STRETCH_S = 6, 60.0
#: Own error of the references: steps of 0.088 degrees, or markers on a small body. To it comes how far reference and
#: gyroscope are apart in time from sample to sample (see `time_u_s`).
ENCODER_U_RAD, CAMERA_U_RAD = np.radians(0.088) / 12**0.5, np.radians(0.3)
#: The sensor's own clock and the logger's meet again within this many seconds; no estimator follows what is faster.
BEAT_S = 1.0
#: Independent ones of these differences in a second, about.
BEATS = 25.0


def fetched(folder: Path, name: str) -> Path:
    """Folder of a repository, cloned if it is not there."""
    if not (folder / name).exists():
        folder.mkdir(parents=True, exist_ok=True)
        url = f"https://github.com/{OWNERS[name]}/{name}"
        subprocess.run(["git", "clone", "--depth", "1", url, str(folder / name)], check=True)
    return folder / name


def encoder_trials(folder: Path, sensor: int = 2):
    """Name, times, gyro, accelerometer and encoder angle of every trial; sensor 2 turns, sensor 1 stands still."""
    for path in sorted(fetched(folder, ENCODER).glob("MatlabCode/Data/raw_*.mat")):
        table = {key: value.ravel().astype(float) for key, value in loadmat(path).items() if key[0] != "_"}
        rows = np.concatenate([[True], np.diff(table["all_time"]) > 0.0])
        gyro, accel = (
            np.stack([table[f"all_{kind}_{sensor}_{axis}"][rows] for axis in "xyz"], axis=1)
            for kind in ("gyro", "accel")
        )
        yield (
            path.stem.removeprefix("raw_"),
            table["all_time"][rows],
            np.radians(gyro),
            9.80665 * accel,
            np.radians(table["all_encoder"][rows]),
        )


def stretches(times):
    """Rows of stretches spread evenly over a trial."""
    starts = np.linspace(times[0], times[-1] - STRETCH_S, STRETCHES)
    return [slice(*np.searchsorted(times, [start, start + STRETCH_S])) for start in starts]


def camera_trials(folder: Path, pattern: str):
    """Name, times, gyro, accelerometer and camera attitude of every trial."""
    for path in sorted(fetched(folder, PENDULUM).glob(pattern)):
        table = pd.read_csv(path, sep=";", header=None, skiprows=2).apply(pd.to_numeric, errors="coerce")
        table = table.dropna(subset=range(11)).to_numpy()
        seen = np.linalg.norm(table[:, 1:5], axis=1) > 0.5
        table = table[seen & np.concatenate([[True], np.diff(table[:, 0]) > 0.0])]
        attitude = Rotation.from_quat(table[:, 1:5], scalar_first=True)
        yield path.stem, table[:, 0], table[:, 8:11], table[:, 5:8], attitude


def turn_about_main_axis(attitude: Rotation):
    """Rotation about the axis about which a body turns most, radians."""
    steps = (attitude[:-1].inv() * attitude[1:]).as_rotvec()
    axis = np.linalg.eigh(steps.T @ steps)[1][:, -1]
    return np.concatenate([[0.0], np.cumsum(steps @ axis)])


def difference(times, found, true, rate):
    """Error of `found` without its mean and the lag that explains most of it, either sign of `true`."""
    errors = []
    for sign in (1.0, -1.0):
        error = found - sign * true
        moving = np.column_stack([rate, np.ones(len(rate))])
        errors.append(error - moving @ np.linalg.lstsq(moving, error, rcond=None)[0])
    return min(errors, key=lambda error: float(np.sum(error**2)))


def time_u_s(times, gyro, true):
    """Standard deviation of the time between a reading and its reference, from what integrating cannot explain.

    The sensor has a clock of its own: within a second the integrated reading and the reference differ by the rate
    times what their samples are apart. Slower differences are left to whoever estimates.
    """
    axis = np.linalg.eigh(np.cov(gyro.T))[1][:, -1]
    rate = gyro @ axis - np.median(gyro @ axis)
    turned = np.concatenate([[0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(times))])
    width = round(BEAT_S / np.median(np.diff(times)))
    left = min((true - turned, true + turned), key=np.var)
    left = left - uniform_filter1d(left, width)
    turning = np.abs(rate) > 0.5 * np.median(np.abs(rate))
    steady = rate[turning] - np.mean(rate[turning])
    slope = np.sum(left[turning] * steady) / np.sum(steady**2)
    return float(np.std(left[turning] - slope * steady) / np.sqrt(np.mean(rate[turning] ** 2)))


def rms_deg(error):
    return float(np.degrees(np.sqrt(np.mean(error**2))))


def one(name, times, gyro, accel, true, u_rad):
    """Print a line; return our error, the filter's, the shares in band and whether it was refused."""
    try:
        motion = estimate_hinge(times, gyro, accel)
    except MotionError as error:
        print(f"| {name} | refused: {error} |", flush=True)
        return np.nan, np.nan, np.nan, np.nan, True
    at = np.interp(motion.time_s, times, true)
    error = difference(motion.time_s, motion.q_rad, at, motion.rate_rad_s)
    parameters = motion.parameters
    other = filter_angle(times, gyro, accel, parameters.axis)
    theirs = difference(times, other, true, np.interp(times, motion.time_s, motion.rate_rad_s))
    u_s = time_u_s(times, gyro, true)
    u = np.sqrt(motion.u_q_rad**2 + u_rad**2 + (u_s * motion.rate_rad_s) ** 2)
    inside = float(np.mean(np.abs(error) < 1.96 * u))
    width = max(1, round(BEAT_S / np.median(np.diff(motion.time_s))))
    u_slow = np.sqrt(motion.u_q_rad**2 + u_rad**2 + (u_s * motion.rate_rad_s) ** 2 / BEATS)
    slow = float(np.mean(np.abs(uniform_filter1d(error, width)) < 1.96 * u_slow))
    facts = ", ".join(fact.kind.value for fact in motion.warnings)
    print(
        f"| {name} | {rms_deg(error):.2f} | {rms_deg(theirs):.2f} | {100 * inside:.0f} % | {100 * slow:.0f} % "
        f"| {np.degrees(np.median(motion.u_q_rad)):.2f} | {1e3 * u_s:.1f} | {parameters.gravity_in_plane_m_s2:.2f} "
        f"| {100 * parameters.gyro_scale:.2f} ± {100 * parameters.u_gyro_scale:.2f} "
        f"| {100 * parameters.off_axis_share:.0f} | {facts} |",
        flush=True,
    )
    return rms_deg(error), rms_deg(theirs), inside, slow, False


COLUMNS = (
    *("stretch", "rms, deg", "filter", "in band", "of seconds", "u, deg", "reference, ms"),
    *("in plane, m/s²", "scale, %", "across, %", "facts"),
)


def heading():
    print("| " + " | ".join(COLUMNS) + " |")
    print("|" + " --- |" * len(COLUMNS))


def summary(rows):
    ours, theirs, inside, slow, refused = np.array(rows, dtype=float).T
    print(
        f"{len(rows)} stretches, {int(refused.sum())} refused; rms {np.sqrt(np.nanmean(ours**2)):.2f} deg, "
        f"filter {np.sqrt(np.nanmean(theirs**2)):.2f} deg; largest ratio {np.nanmax(ours / theirs):.2f}, "
        f"above 1.1: {int(np.nansum(ours > 1.1 * theirs))}; in band {100 * np.nanmean(inside):.1f} %, "
        f"least {100 * np.nanmin(inside):.0f} %, of seconds {100 * np.nanmean(slow):.1f} %"
    )


def encoder(folder):
    heading()
    rows = []
    for name, times, gyro, accel, true in encoder_trials(folder):
        for number, row in enumerate(stretches(times)):
            label = f"{name} {number + 1}"
            rows.append(one(label, times[row], gyro[row], accel[row], true[row], ENCODER_U_RAD))
    summary(rows)


def pendulum(folder):
    heading()
    rows = []
    for name, times, gyro, accel, attitude in camera_trials(folder, "Pendulum/*_Trial*_Segment_1.csv"):
        label = name.removeprefix("Pendulum_").removesuffix("_Segment_1")
        true = turn_about_main_axis(attitude)
        rows.append(one(label, times, gyro, accel, true, CAMERA_U_RAD))
    summary(rows)


def free(folder):
    """Bodies whose pivot moves, and a stick moved by hand: what is said of them."""
    print("| recording | said |\n| --- | --- |")
    for pattern in ("Pendulum/*_Trial1_Segment_[23].csv", "TStick/*_Trial1.csv"):
        for name, times, gyro, accel, _ in camera_trials(folder, pattern):
            try:
                motion = estimate_hinge(times, gyro, accel)
                share = motion.parameters.off_axis_share
                said = f"{100 * share:.0f} % across; " + ", ".join(
                    fact.kind.value for fact in motion.warnings
                )
            except MotionError as error:
                said = f"refused: {error}"
            print(f"| {name} | {said} |", flush=True)


def still(folder):
    """How far the accelerometer's offset of a sensor that stands still walks: means over a minute, worst axis."""
    print("| trial | steps rms, mm/s² | range, mm/s² | minutes |\n| --- | --- | --- | --- |")
    for name, times, _, accel, _ in encoder_trials(folder, sensor=1):
        minute = ((times - times[0]) / 60.0).astype(int)
        means = 1e3 * np.array([accel[minute == k].mean(axis=0) for k in range(minute[-1])])
        steps = np.sqrt(np.mean(np.diff(means, axis=0) ** 2, axis=0))
        print(
            f"| {name} | {steps.max():.1f} | {np.ptp(means, axis=0).max():.0f} | {len(means)} |", flush=True
        )


def stream(folder):
    """The streaming angle against the final one, from 30 s on; mean taken off as long as no rest says where zero is."""
    print("| stretch | rms, deg | worst, deg |\n| --- | --- | --- |")
    for name, times, gyro, accel, _ in encoder_trials(folder):
        row = slice(*np.searchsorted(times, [times[0], times[0] + 2.0 * STRETCH_S]))
        live = HingeStream()
        parts = [
            live.push(times[at : at + 10], gyro[at : at + 10], accel[at : at + 10])
            for at in range(row.start, row.stop, 10)
        ]
        try:
            motion = estimate_hinge(times[row], gyro[row], accel[row])
        except MotionError as error:
            print(f"| {name} | refused: {error} |", flush=True)
            continue
        at = np.concatenate([part.time_s for part in parts])
        found, final = (
            np.concatenate([part.q_rad for part in parts]),
            np.interp(at, motion.time_s, motion.q_rad),
        )
        # A record without a rest does not say which way is positive.
        late = (at > times[0] + 30.0) & (at <= motion.time_s[-1])
        error = min((found - final)[late], (-found - final)[late], key=np.var)
        error -= np.median(error)
        print(f"| {name} | {rms_deg(error):.2f} | {np.degrees(np.max(np.abs(error))):.2f} |", flush=True)


JOBS = {"encoder": encoder, "stream": stream, "pendulum": pendulum, "free": free, "still": still}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("what", choices=JOBS)
    parser.add_argument("--folder", type=Path, default=Path("recordings-fetched"))
    chosen = parser.parse_args()
    JOBS[chosen.what](chosen.folder)


if __name__ == "__main__":
    main()
