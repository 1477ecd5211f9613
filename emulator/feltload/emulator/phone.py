"""Phones: what a browser makes of the motion that the chip measures, and how browsers differ.

A browser wakes at its own pace and tells the newest reading, stamped with the time of the event, not of the reading.
It may round readings (Generic Sensor's and Device Orientation's mitigations: 0.1 m/s² and 0.1 degree per second) and
stamps (High Resolution Time: 0.1 ms, 1 ms, or a frame). Signs and units differ in the wild. Figures of jitter and of
stalls are ours: common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.random import Generator

from feltload.core import STANDARD_GRAVITY_M_S2, Flags, Floats, InputError
from feltload.emulator.simulation import SimulatedRun

Spans = tuple[tuple[float, float], ...]
STILL_S, LIFT_S = 1.5, 0.8


@dataclass(frozen=True)
class Browser:
    """How a browser tells motion.

    Parameters
    ----------
    rate_hz : float
        Events per second.
    jitter_s : float
        Standard deviation of the time of an event against its beat.
    stamp_s : float
        Step of its time stamps.
    accel_step_m_s2, rate_step_deg_s : float
        Steps that readings are rounded to; 0 for none.
    gravity_sign : {1, -1}
        1: what lies on its back, screen up, tells +9.8 along z, as the standard has it.
    turn_sign : {1, -1}
        Of all three rates.
    order : str
        Axes of the rates called alpha, beta and gamma.
    degrees : bool
        Rates in degrees per second, else in rad/s.
    busy_hz, busy_s : float
        How often the page is busy, and for how long at most; events of that time come together at its end.
    """

    rate_hz: float = 60.0
    jitter_s: float = 0.002
    stamp_s: float = 1e-4
    accel_step_m_s2: float = 0.0
    rate_step_deg_s: float = 0.0
    gravity_sign: int = 1
    turn_sign: int = 1
    order: str = "xyz"
    degrees: bool = True
    busy_hz: float = 0.0
    busy_s: float = 0.15


_BROWSERS = {
    "fine": Browser(stamp_s=1e-3, gravity_sign=-1),
    "rounded": Browser(accel_step_m_s2=0.1, rate_step_deg_s=0.1),
    "coarse-stamps": Browser(stamp_s=1.0 / 60.0),
    "radians": Browser(stamp_s=1e-3, degrees=False, order="zxy"),
    "slow": Browser(rate_hz=50.0, jitter_s=0.004, stamp_s=1e-3),
    "busy": Browser(stamp_s=1e-3, busy_hz=0.1),
}


def browser_names() -> tuple[str, ...]:
    """Names that `browser` knows."""
    return tuple(_BROWSERS)


def browser(name: str) -> Browser:
    """The named way to tell motion."""
    if name not in _BROWSERS:
        raise InputError(f"no emulated browser called {name!r}", remedy=f"one of: {', '.join(_BROWSERS)}")
    return _BROWSERS[name]


@dataclass(frozen=True)
class PhoneEvents:
    """Events as a page gets them, and when they reach the host.

    Attributes
    ----------
    number : ndarray, shape (n,)
    stamp_ms : ndarray, shape (n,)
        The page's clock.
    accel, turning : ndarray, shape (n, 3)
        As the browser tells them: its signs, its order (alpha, beta, gamma), its units.
    arrival_s : ndarray, shape (n,)
        Host time.
    locked : ndarray of bool, shape (n,)
        The screen was locked: the page got nothing; `frame` leaves these out.
    """

    number: Floats
    stamp_ms: Floats
    accel: Floats
    turning: Floats
    arrival_s: Floats
    locked: Flags = field(repr=False)

    def frame(self, told_by: Browser) -> pd.DataFrame:
        """The stream in SI and the standard's convention, as a recording decodes it once that is known."""
        order = [told_by.order.index(axis) for axis in "xyz"]
        unit = np.pi / 180.0 if told_by.degrees else 1.0
        turning = told_by.turn_sign * unit * self.turning[:, order]
        table = {"host_s": self.arrival_s, "device_s": self.stamp_ms / 1e3, "seq": self.number}
        table |= {f"gyro_{axis}_rad_s": turning[:, k] for k, axis in enumerate("xyz")}
        table |= {
            f"accel_{axis}_m_s2": told_by.gravity_sign * self.accel[:, k] for k, axis in enumerate("xyz")
        }
        frame = pd.DataFrame(table)[~self.locked].reset_index(drop=True)
        # A page counts what it gets: a locked screen is a hole in its clock alone.
        return frame.assign(seq=np.arange(len(frame)))


def phone_events(run: SimulatedRun, told_by: Browser, *, seed: int, locked: Spans = ()) -> PhoneEvents:
    """Events of the phone on the arm during an emulated session with sensors "phone".

    Parameters
    ----------
    run : SimulatedRun
    told_by : Browser
    seed : int
    locked : spans of true time, s
        While the screen was locked.
    """
    rng = np.random.default_rng([seed, 7])
    chip = run.inertial_samples
    units = np.repeat(
        [run.scenario.sensors.inertial.gyro_range_rad_s, run.scenario.sensors.inertial.accel_range_m_s2], 3
    )
    values = chip.words * (units / 32768.0)
    at_s = _event_times(told_by, float(chip.sample_s[-1]), rng)
    newest = np.clip(np.searchsorted(chip.sample_s, at_s, side="right") - 1, 0, None)
    dispatched_s = _held_by_a_busy_page(at_s, told_by, rng)
    accel, turning = spoken(values[newest, 3:], values[newest, :3], told_by)
    stamp_s = np.floor((dispatched_s + 100.0 + rng.uniform(0.0, 50.0)) / told_by.stamp_s) * told_by.stamp_s
    way = run.scenario.sensors.inertial.transport
    # The page sends what it has every 50 ms.
    sent_s = np.ceil(dispatched_s / 0.05) * 0.05
    each = np.unique(sent_s, return_inverse=True)[1]
    delay = way.floor_s + rng.exponential(way.jitter_s, each.max() + 1)
    delay += (rng.random(delay.size) < way.stall_share) * rng.uniform(0.0, way.stall_s, delay.size)
    arrival_s = np.maximum.accumulate(sent_s + delay[each])
    lost = np.zeros(at_s.size, dtype=bool)
    for start_s, stop_s in locked:
        lost |= (at_s >= start_s) & (at_s < stop_s)
    return PhoneEvents(np.arange(at_s.size, dtype=float), stamp_s * 1e3, accel, turning, arrival_s, lost)


def spoken(accel_m_s2: Floats, rate_rad_s: Floats, told_by: Browser) -> tuple[Floats, Floats]:
    """Specific force and rate, each (n, 3), in a browser's signs, order, units and steps."""
    order = ["xyz".index(axis) for axis in told_by.order]
    turning = told_by.turn_sign * np.degrees(rate_rad_s)[:, order]
    turning = _rounded(turning, told_by.rate_step_deg_s)
    accel = _rounded(told_by.gravity_sign * accel_m_s2, told_by.accel_step_m_s2)
    return accel, turning if told_by.degrees else np.radians(turning)


def turned_by_hand(
    seed: int, *, seconds: float = 12.0, rate_hz: float = 60.0, about: str = "xyz", push_m_s2: float = 0.4
) -> tuple[Floats, Floats, Floats]:
    """A phone in hands, lying on its back first and then turned to and fro about its own axes, one after the other.

    Hands also push it about; the chip has noise, bias and offsets.

    Parameters
    ----------
    seed : int
    seconds, rate_hz : float
    about : str
        Axes that it is turned about, after it was lifted; it stays on the bench for none.
    push_m_s2 : float
        Size of the hands' pushes.

    Returns
    -------
    time_s : ndarray, shape (n,)
    accel_m_s2, rate_rad_s : ndarray, shape (n, 3)
        Specific force and rate as the chip reads them, in the standard's convention.
    """
    rng = np.random.default_rng(seed)
    time_s = np.arange(int(seconds * rate_hz)) / rate_hz
    each_s = (seconds - STILL_S - LIFT_S) / max(len(about), 1)
    rate = np.zeros((time_s.size, 3))
    lifting = (time_s >= STILL_S) & (time_s < STILL_S + LIFT_S)
    # A turn about the upright is not seen by gravity: it is lifted to a slant first.
    rate[lifting] = np.radians(np.where([bool(about)] * 3, (48.0, 33.0, 0.0), 0.0)) / LIFT_S
    for number, axis in enumerate(about):
        since = (time_s - STILL_S - LIFT_S - number * each_s) / each_s
        inside = (since >= 0.0) & (since < 1.0)
        swings = rng.uniform(1.5, 2.5)
        size = np.radians(rng.uniform(50.0, 90.0)) * 2 * np.pi * swings / each_s / 2
        rate[inside, "xyz".index(axis)] += size * np.sin(2 * np.pi * swings * since[inside])
    in_hand = (time_s > STILL_S)[:, None] * bool(about)
    rate += 0.08 * in_hand * _slow(rng, time_s, 3)
    up = _followed(np.array([0.05, -0.03, 1.0]), rate, 1.0 / rate_hz)
    pushes = (0.02 + (push_m_s2 - 0.02) * in_hand) * _slow(rng, time_s, 3)
    accel = STANDARD_GRAVITY_M_S2 * up + pushes + rng.normal(0.0, 0.03, up.shape) + rng.normal(0.0, 0.15, 3)
    return time_s, accel, rate + rng.normal(0.0, 0.003, rate.shape) + np.radians(rng.normal(0.0, 0.6, 3))


def _followed(up: Floats, rate: Floats, step_s: float) -> Floats:
    """The upward direction in the phone: it turns against the phone."""
    out = np.empty_like(rate)
    for row, omega in enumerate(rate):
        up = up / np.linalg.norm(up)
        out[row] = up
        up = up - step_s * np.cross(omega, up)
    return out


def _slow(rng: Generator, time_s: Floats, columns: int) -> Floats:
    """Unsteadiness of about 1 at a few tenths of a hertz to two hertz, (n, columns)."""
    hz, phase = rng.uniform(0.3, 2.0, (columns, 4)), rng.uniform(0.0, 2 * np.pi, (columns, 4))
    return np.asarray(np.sin(2 * np.pi * hz * time_s[:, None, None] + phase).sum(axis=2) / np.sqrt(2.0))


def _event_times(told_by: Browser, duration_s: float, rng: Generator) -> Floats:
    count = int((duration_s - 0.1) * told_by.rate_hz)
    beat_s = 0.03 + np.arange(count) / told_by.rate_hz
    return np.maximum.accumulate(beat_s + np.abs(rng.normal(0.0, told_by.jitter_s, count)))


def _held_by_a_busy_page(at_s: Floats, told_by: Browser, rng: Generator) -> Floats:
    """When events are handed to the page."""
    out = at_s.copy()
    count = rng.poisson(told_by.busy_hz * float(at_s[-1])) if told_by.busy_hz else 0
    for begins_s in rng.uniform(0.0, float(at_s[-1]), count):
        ends_s = begins_s + rng.uniform(0.03, told_by.busy_s)
        held = np.flatnonzero((at_s >= begins_s) & (at_s < ends_s))
        out[held] = ends_s + 1e-4 * np.arange(held.size)
    return np.maximum.accumulate(out)


def _rounded(values: Floats, step: float) -> Floats:
    return np.rint(values / step) * step if step else values
