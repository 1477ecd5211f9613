"""``feltload devices``: sensors in reach, and what they send."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

if TYPE_CHECKING:
    from feltload.acquisition import Guess, Peripheral


def devices(
    port: str | None = None,
    /,
    *,
    baud: int = 115_200,
    scan: str = "5 s",
    bluetooth: bool = True,
    common: CommonOptions = DEFAULTS,
) -> int:
    """List serial ports and advertising Bluetooth LE peripherals, or look at what one port sends.

    With PORT it listens there and guesses framing and rate, which helps to write a stream description.

    Example: feltload devices

    Example: feltload devices /dev/ttyUSB0 --baud 115200

    Parameters
    ----------
    port
        Serial port to listen to.
    baud
        Its speed.
    scan
        How long to scan or listen.
    bluetooth
        Scan for Bluetooth LE peripherals too; --bluetooth=false leaves it out.
    """
    import asyncio

    from feltload.acquisition import sample_port, serial_ports
    from feltload.core import parse_quantity

    console = Console(common)
    seconds = parse_quantity(scan, "time", where="--scan").value
    if port is not None:
        with console.progress(f"Listening to {port}"):
            guess = asyncio.run(sample_port(port, baud, seconds=seconds))
        _show_guess(console, port, guess)
        return 0
    ports = serial_ports()
    console.say("Serial ports" if ports else "No serial ports.")
    for item in ports:
        console.say(f"  {item.name}  {item.device}")
    reachable, trouble = _scan(console, seconds) if bluetooth else ([], None)
    for peripheral in reachable:
        console.say(f"  {peripheral.address}  {peripheral.rssi_dbm} dBm  {peripheral.name}")
    console.result(
        {
            "serial": [{"port": item.name, "device": item.device} for item in ports],
            "bluetooth": [
                {
                    "address": item.address,
                    "name": item.name,
                    "rssi_dbm": item.rssi_dbm,
                    "services": list(item.services),
                }
                for item in reachable
            ],
            "bluetooth_trouble": trouble,
        }
    )
    return 0


def _scan(console: Console, seconds: float) -> tuple[list[Peripheral], str | None]:
    """Scan for peripherals; no Bluetooth is a remark, not the end of the listing."""
    import asyncio

    from feltload.acquisition import LinkError, peripherals

    try:
        with console.progress("Scanning for Bluetooth LE peripherals"):
            reachable = list(asyncio.run(peripherals(seconds)))
    except LinkError as error:
        console.note(f"Note: {error}")
        return [], str(error)
    console.say("Bluetooth LE peripherals" if reachable else "No Bluetooth LE peripherals in reach.")
    return reachable, None


def _show_guess(console: Console, port: str, guess: Guess) -> None:
    from feltload.app.text.acquisition import describe_unread

    if guess.framing is None:
        console.say(f"{port}: {describe_unread(guess)}; another --baud?")
    else:
        by = f', delimiter "{guess.delimiter}"' if guess.delimiter else ""
        console.say(f"{port}: {guess.framing}{by}")
        for frame in guess.frames:
            unit = "columns" if guess.framing == "lines" else "bytes"
            rate = "" if math.isnan(frame.rate_hz) else f", about {frame.rate_hz:.0f} per second"
            check = f", {frame.checksum}" if frame.checksum else ""
            console.say(f"  {frame.size} {unit}{rate}{check}, such as: {frame.example}")
        if guess.description is not None:
            console.say(f"  the shipped description {guess.description} fits")
    console.result(
        {
            "port": port,
            "framing": guess.framing,
            "delimiter": guess.delimiter,
            "description": guess.description,
            "frames": [
                {
                    "size": frame.size,
                    "rate_hz": None if math.isnan(frame.rate_hz) else frame.rate_hz,
                    "checksum": frame.checksum,
                    "example": frame.example,
                }
                for frame in guess.frames
            ],
        }
    )
