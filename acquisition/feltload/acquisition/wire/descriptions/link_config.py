"""How a sensor is reached, as a stream description states it."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, field_validator, model_validator

__all__ = [
    "BleLinkConfig",
    "CommandedLink",
    "FileLinkConfig",
    "LinkConfig",
    "LslLinkConfig",
    "ProgramLinkConfig",
    "ReplayLinkConfig",
    "SerialLinkConfig",
    "Table",
    "TcpLinkConfig",
    "UdpLinkConfig",
    "command_bytes",
]


class Table(BaseModel):
    """Base of the tables of a description: no unknown keys, no silent change."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class LinkTable(Table):
    """Base of the links: what the system is asked to open holds no control character."""

    @field_validator("port", "address", "device_name", "path", "host", check_fields=False)
    @classmethod
    def _is_plain(cls, value: str | int | None) -> str | int | None:
        if isinstance(value, str) and any(ord(character) < 32 for character in value):
            raise ValueError("a control character is in it")
        return value


def command_bytes(text: str) -> bytes:
    """Bytes of a command: text as it stands, or hexadecimal after "hex:".

    Raises
    ------
    ValueError
        If what follows "hex:" is not hexadecimal.
    """
    if text.startswith("hex:"):
        try:
            return bytes.fromhex(text[4:])
        except ValueError:
            raise ValueError(
                f'after "hex:" come bytes in hexadecimal, such as "hex:AA 01", not "{text}"'
            ) from None
    return text.encode()


def _checked_command(text: str) -> str:
    command_bytes(text)
    return text


Command = Annotated[str, Field(max_length=400), AfterValidator(_checked_command)]
"""What is sent to a sensor: text, or "hex:AA 01"."""


class CommandedLink(LinkTable):
    """A link over which commands can be sent.

    Parameters
    ----------
    start, stop : str
        Sent to the sensor once the link is open, and before it is closed: text, with its line end where the
        sensor wants one, or bytes such as "hex:AA 01".
    """

    start: Command = ""
    stop: Command = ""


class SerialLinkConfig(CommandedLink):
    """A serial port.

    Parameters
    ----------
    port : str
        Device name; "auto" tries the ports one by one and takes the one that sends this stream.
    baud : int
        Bits per second; without meaning for a native USB port.
    bits : {7, 8}
        Bits of a character.
    parity : {"none", "even", "odd", "mark", "space"}
    stop_bits : {1, 2}
    rts, dtr : bool, optional
        State of these lines; as the system leaves them unless given. Many boards restart on dtr.
    start, stop : str
        Commands, as in `CommandedLink`.
    """

    type: Literal["serial"] = "serial"
    port: str = "auto"
    baud: Annotated[int, Field(gt=0)] = 115_200
    bits: Literal[7, 8] = 8
    parity: Literal["none", "even", "odd", "mark", "space"] = "none"
    stop_bits: Literal[1, 2] = 1
    rts: bool | None = None
    dtr: bool | None = None


class TcpLinkConfig(CommandedLink):
    """A TCP connection to a board or a bridge, which sends on it.

    Parameters
    ----------
    host : str
        Its name or address.
    port : int
    """

    type: Literal["tcp"]
    host: Annotated[str, Field(min_length=1)]
    port: Annotated[int, Field(gt=0, lt=65536)]


class UdpLinkConfig(CommandedLink):
    """UDP datagrams that a board sends to this computer; each is a message.

    Parameters
    ----------
    port : int
        Port of this computer that they are sent to.
    host : str
        The board's name or address; datagrams of others are left out. Empty for whoever sends.
    board_port : int, optional
        Port of the board that commands are sent to.
    """

    type: Literal["udp"]
    port: Annotated[int, Field(gt=0, lt=65536)]
    host: str = ""
    board_port: Annotated[int, Field(gt=0, lt=65536)] | None = None

    @model_validator(mode="after")
    def _check(self) -> Self:
        if (self.start or self.stop) and (not self.host or self.board_port is None):
            raise ValueError("commands need the board's host and board_port")
        return self


class ProgramLinkConfig(CommandedLink):
    """A program's standard output. Recording with the rig file runs the program.

    Parameters
    ----------
    command : list of str
        The program and its arguments. What `start` and `stop` hold goes to its standard input.
    """

    type: Literal["program"]
    command: Annotated[tuple[str, ...], Field(min_length=1)]


class LslLinkConfig(LinkTable):
    """An outlet of the Lab Streaming Layer; needs the extra ``lsl``.

    Each sample arrives as little-endian f64: its time stamp in s, then its channels; so it is described by
    framing "notification" with `records` of type f64, ``device_time`` first.

    Parameters
    ----------
    outlet : str
        Name of the outlet's stream.
    source_id : str
        Its source, where several have one name.
    """

    type: Literal["lsl"]
    outlet: Annotated[str, Field(min_length=1)]
    source_id: str = ""


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
    SerialLinkConfig
    | BleLinkConfig
    | TcpLinkConfig
    | UdpLinkConfig
    | ProgramLinkConfig
    | LslLinkConfig
    | FileLinkConfig
    | ReplayLinkConfig,
    Field(discriminator="type"),
]
"""One of them, by its `type`."""
