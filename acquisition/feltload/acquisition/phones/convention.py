"""Signs, order and unit in which a browser tells motion, and the stream description that they make."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from feltload.acquisition.wire.descriptions.reading import load_stream_description
from feltload.acquisition.wire.descriptions.schema import StreamDescription

DESCRIPTION = "phone-motion"
ORDERS = ("xyz", "zxy")
"""Axes of rotationRate's alpha, beta, gamma: as the standard has it now, and as its orientation angles are ordered."""


@dataclass(frozen=True)
class MotionConvention:
    """How a browser tells motion.

    Attributes
    ----------
    gravity_sign : {1, -1}
        1 where a phone on its back, screen up, tells +9.8 m/s² along z, as the standard has it; -1 for the opposite.
    turn_sign : {1, -1}
        1 where rates follow the right-hand rule.
    order : {"xyz", "zxy"}
        Axes of alpha, beta and gamma.
    turn_unit : {"deg/s", "rad/s"}

    References
    ----------
    W3C, Device Orientation and Motion, DeviceMotionEvent: accelerationIncludingGravity in m/s², rotationRate in degrees
    per second.
    """

    gravity_sign: Literal[1, -1] = 1
    turn_sign: Literal[1, -1] = 1
    order: Literal["xyz", "zxy"] = "xyz"
    turn_unit: Literal["deg/s", "rad/s"] = "deg/s"

    @property
    def is_standard(self) -> bool:
        """Whether it is the standard's."""
        return self == MotionConvention()

    def description(
        self, *, name: str, host: str, port: int, start: str, rate_hz: float
    ) -> StreamDescription:
        """The stream of a phone that follows it.

        Parameters
        ----------
        name : str
            Of the stream.
        host, port, start
            Where its lines are passed on, and what is sent to get them.
        rate_hz : float
            Events per second.
        """
        accel = [
            {"name": f"accel_{axis}", "unit": "m/s2", "scale": float(self.gravity_sign)} for axis in "xyz"
        ]
        gyro = [
            {"name": f"gyro_{axis}", "unit": self.turn_unit, "scale": float(self.turn_sign)}
            for axis in self.order
        ]
        first = [{"name": "seq"}, {"name": "device_time", "unit": "ms"}]
        changes = {
            "name": name,
            "rate_hz": rate_hz,
            "link": {"type": "tcp", "host": host, "port": port, "start": start},
            "fields": [*first, *accel, *gyro, {"name": "event_interval"}],
        }
        return load_stream_description(DESCRIPTION, changes=changes)
