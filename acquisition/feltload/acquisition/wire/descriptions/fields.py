"""Fields of a frame or columns of a line: type, unit, scale."""

from __future__ import annotations

from typing import Annotated, Literal

import numpy as np
from pydantic import BaseModel, ConfigDict, Field, model_validator

from feltload.core import STANDARD_GRAVITY_M_S2

__all__ = ["AXES", "BINARY_SIZES", "FieldDescription", "Presence", "quantity_of"]

AXES: dict[str, tuple[str, ...]] = {
    "gyro": ("gyro_x", "gyro_y", "gyro_z"),
    "accel": ("accel_x", "accel_y", "accel_z"),
}
"""Axes of an inertial sensor in their fixed order."""

BINARY_SIZES: dict[str, int] = {
    "u8": 1, "i8": 1, "u16": 2, "i16": 2, "u24": 3, "i24": 3,
    "u32": 4, "i32": 4, "u64": 8, "i64": 8, "f16": 2, "f32": 4, "f64": 8,
}  # fmt: skip
"""Bytes of each binary type."""

POUND_KG = 0.45359237
"""kg, exact (international avoirdupois pound, 1959)."""

_DEGREE = np.pi / 180.0

_UNITS: dict[str, dict[str, float]] = {
    "force": {
        "N": 1.0,
        "kN": 1000.0,
        "kgf": STANDARD_GRAVITY_M_S2,
        "lbf": POUND_KG * STANDARD_GRAVITY_M_S2,
        "mV/V": 1.0,
        "counts": 1.0,
    },
    "gyro": {"rad/s": 1.0, "deg/s": float(_DEGREE), "counts": 1.0},
    "accel": {"m/s2": 1.0, "g": STANDARD_GRAVITY_M_S2, "counts": 1.0},
    "time": {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9},
    "none": {"": 1.0},
}

_QUANTITIES = {
    "force": "force",
    "device_time": "time",
    "host_time": "time",
    "interval": "time",
    "seq": "none",
    "count": "none",
    **dict.fromkeys(AXES["gyro"], "gyro"),
    **dict.fromkeys(AXES["accel"], "accel"),
}


def quantity_of(name: str) -> str:
    """Quantity that a field's name stands for: force, gyro, accel, time, or none."""
    return _QUANTITIES.get(name, "none")


class Presence(BaseModel):
    """A field that is only there when a flag says so.

    Parameters
    ----------
    field : str
        Name of the flags field, earlier in the frame.
    mask : int
        Bits to look at.
    equals : int
        Value of the masked bits with which the field is present.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    field: str
    mask: Annotated[int, Field(gt=0)]
    equals: Annotated[int, Field(ge=0)]


class FieldDescription(BaseModel):
    """One field of a frame, or one column of a line.

    Parameters
    ----------
    name : str
        ``force``, ``gyro_x`` ... ``accel_z`` (measured); ``seq`` (sample counter), ``device_time``
        (the sensor's clock), ``host_time`` (arrival stamped by a logger), ``interval`` (time between
        the samples of one frame), ``count`` (samples in the frame), ``length`` (bytes of a frame behind a
        sync word, less the stream's ``length_adds``). Any other name is read past.
    type : str
        Binary frames: u8 i8 u16 i16 u24 i24 u32 i32 u64 i64 f16 f32 f64. Lines: ``number`` or ``text``.
    unit : str
        Unit of the scaled value: N, kN, kgf, lbf, mV/V, counts; rad/s, deg/s, counts; m/s2, g, counts;
        s, ms, us, ns. ``counts`` and ``mV/V`` need a calibration certificate before they are a force.
    scale : float
        Scaled value = (value on the wire - zero) x scale, in `unit`.
    zero : float
        Value on the wire that means nothing measured (before the scale).
    big_endian : bool
        Byte order of a binary field.
    bits : tuple of int, optional
        Lowest bit and number of bits, where the value is a part of the number on the wire; of a signed
        type its highest bit is the sign.
    shared : bool
        The field is in the bytes of the field before it, such as another part of its bits.
    counts : {"samples", "frames"}
        What a ``seq`` counts, where a frame holds several samples.
    equals : int or str, optional
        Constant that marks the frame as this stream's; frames with another value are ignored. In a
        line: the word in its first column, of type ``text``.
    wrap : int, optional
        Counter size of ``seq`` or ``device_time`` on the wire: after wrap - 1 comes 0. A binary
        unsigned counter wraps at its own size unless given.
    invalid : int, optional
        Value on the wire that means "no measurement"; the sample is left out.
    limits : tuple of float, optional
        Lowest and highest value on the wire that is not saturation. A signed binary integer is
        taken as saturated at its own ends unless given.
    present_if : Presence, optional
        The flag that says whether the field is there.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Annotated[str, Field(min_length=1)]
    type: Literal[
        "u8",
        "i8",
        "u16",
        "i16",
        "u24",
        "i24",
        "u32",
        "i32",
        "u64",
        "i64",
        "f16",
        "f32",
        "f64",
        "number",
        "text",
    ] = "number"
    unit: str = ""
    scale: float = 1.0
    zero: float = 0.0
    big_endian: bool = False
    bits: tuple[Annotated[int, Field(ge=0)], Annotated[int, Field(ge=1)]] | None = None
    shared: bool = False
    counts: Literal["samples", "frames"] = "samples"
    equals: int | str | None = None
    wrap: Annotated[int, Field(gt=1)] | None = None
    invalid: int | None = None
    limits: tuple[float, float] | None = None
    present_if: Presence | None = None

    @model_validator(mode="after")
    def _check(self) -> FieldDescription:
        known = _UNITS[self.quantity]
        if self.quantity != "none" and self.unit not in known:
            raise ValueError(f'unit of {self.name} must be one of {", ".join(known)}, not "{self.unit}"')
        if self.quantity == "none" and self.unit:
            raise ValueError(f'{self.name} takes no unit, but has "{self.unit}"')
        if not np.isfinite(self.scale) or self.scale == 0.0:
            raise ValueError(f"scale of {self.name} must be a number other than 0")
        if self.equals is not None and isinstance(self.equals, str) != (self.type == "text"):
            raise ValueError(f"equals of {self.name} must be a word for text, a whole number otherwise")
        if self.wrap is not None and self.name not in ("seq", "device_time"):
            raise ValueError(f"wrap is for seq and device_time, not for {self.name}")
        if self.counts == "frames" and self.name != "seq":
            raise ValueError(f"counts is for seq, not for {self.name}")
        self._check_bits()
        return self

    def _check_bits(self) -> None:
        text = self.type in ("number", "text")
        if text and (self.bits or self.shared):
            raise ValueError(f"bits and shared are for binary frames, not for {self.name}")
        if self.bits is None:
            return
        if self.type[0] == "f":
            raise ValueError(f"{self.name} has bits, so its type is a whole number")
        if sum(self.bits) > 8 * self.size or self.bits[1] > 53:
            raise ValueError(
                f"bits of {self.name} are not all within its {8 * self.size} bits, or more than 53"
            )

    @property
    def quantity(self) -> str:
        """Quantity of the field: force, gyro, accel, time, or none."""
        return quantity_of(self.name)

    @property
    def size(self) -> int:
        """Bytes of a binary field."""
        return BINARY_SIZES[self.type]

    @property
    def si_factor(self) -> float:
        """SI value = (value on the wire - zero) x si_factor; for counts the factor is `scale`."""
        return self.scale * _UNITS[self.quantity][self.unit]

    @property
    def counter_size(self) -> int | None:
        """Size at which a counter starts again, None if it does not."""
        if self.wrap is not None:
            return self.wrap
        if self.bits is not None and self.type[0] == "u":
            return 1 << self.bits[1]
        if self.type in ("u8", "u16", "u24", "u32"):
            return int(1 << (8 * self.size))
        return None

    @property
    def saturation(self) -> tuple[float, float] | None:
        """Lowest and highest sound value on the wire, both themselves saturated; None if unknown."""
        if self.limits is not None:
            return self.limits
        measured = self.quantity in ("force", "gyro", "accel")
        if measured and (self.type in ("i16", "i24", "i32") or (self.bits and self.type[0] == "i")):
            top = float(1 << ((self.bits[1] if self.bits else 8 * self.size) - 1))
            return -top, top - 1.0
        return None

    @property
    def column(self) -> str:
        """Column of the decoded stream, with its unit as suffix."""
        if self.quantity == "none" or self.quantity == "time":
            return self.name
        if self.unit in ("counts", "mV/V"):
            return self.name + {"counts": "_counts", "mV/V": "_mv_v"}[self.unit]
        return self.name + {"force": "_n", "gyro": "_rad_s", "accel": "_m_s2"}[self.quantity]
