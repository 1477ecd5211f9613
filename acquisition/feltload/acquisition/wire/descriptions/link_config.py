"""How a sensor is reached, as a stream description states it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator

__all__ = ["BleLinkConfig", "FileLinkConfig", "LinkConfig", "ReplayLinkConfig", "SerialLinkConfig", "Table"]


class Table(BaseModel):
    """Base of the tables of a description: no unknown keys, no silent change."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class LinkTable(Table):
    """Base of the links: what the system is asked to open holds no control character."""

    @field_validator("port", "address", "device_name", "path", "host", check_fields=False)
    @classmethod
    def _is_plain(cls, value: str | None) -> str | None:
        if value is not None and any(ord(character) < 32 for character in value):
            raise ValueError("a control character is in it")
        return value


class SerialLinkConfig(LinkTable):
    """A serial port.

    Parameters
    ----------
    port : str
        Device name; "auto" tries the ports one by one and takes the one that sends this stream.
    baud : int
        Bits per second; without meaning for a native USB port.
    """

    type: Literal["serial"] = "serial"
    port: str = "auto"
    baud: Annotated[int, Field(gt=0)] = 115_200


class BleLinkConfig(LinkTable):
    """Notifications of a Bluetooth Low Energy characteristic.

    Parameters
    ----------
    address, device_name : str, optional
        The peripheral's address or its advertised name; one of them is needed.
    characteristic : str
        UUID of the characteristic that notifies.
    service : str, optional
        UUID of its service, to scan by and to tell equal characteristics apart.
    pair : bool
        Pair with the peripheral before reading it.
    """

    type: Literal["ble"] = "ble"
    address: str | None = None
    device_name: str | None = None
    characteristic: Annotated[str, Field(min_length=4)]
    service: str | None = None
    pair: bool = False


class FileLinkConfig(LinkTable):
    """A file of a user's own logger; nothing to open while recording."""

    type: Literal["file"] = "file"
    name: str = ""


class ReplayLinkConfig(LinkTable):
    """A stream of the same name in a recording, replayed as if its sensor sent it now.

    Parameters
    ----------
    path : str
        The recording.
    speed : float
        1 for the recorded timing, 2 for twice as fast.
    """

    type: Literal["replay"] = "replay"
    path: str
    speed: Annotated[float, Field(gt=0, allow_inf_nan=False)] = 1.0


LinkConfig = Annotated[
    SerialLinkConfig | BleLinkConfig | FileLinkConfig | ReplayLinkConfig, Field(discriminator="type")
]
"""One of them, by its `type`."""
