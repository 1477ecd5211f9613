"""``feltload devices``: sensors in reach, and what they send."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

if TYPE_CHECKING:
    from feltload.acquisition import Guess, Peripheral
    from feltload.app.sessions.sensor_watch import Heard


def devices(
    *port: str,
    baud: int = 115_200,
    parity: Literal["none", "even", "odd", "mark", "space"] = "none",
    start: str = "",
    stop: str = "",
    scan: str = "5 s",
    live: str | None = None,
    write: Path | None = None,
    bluetooth: bool = True,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """List serial ports and advertising Bluetooth LE peripherals, or find out what sensors send.

    With a PORT (or several) it listens there and finds out framing, check value, clock, axes and scales, as far as
    bytes tell. Pull on the cell and tilt the inertial sensor to and fro while it listens. A PORT may also be
    tcp://HOST:PORT, udp://:PORT, program:COMMAND or lsl://OUTLET.

    Example: feltload devices

    Example: feltload devices /dev/ttyUSB0 /dev/ttyUSB1 --write rig.toml

    Parameters
    ----------
    port
        Serial ports or addresses to listen to.
    baud
        Speed of serial ports.
    parity
        Parity of serial ports.
    start
        Command that makes the sensor send, such as "go\\r\\n" or "hex:AA 01".
    stop
        Command sent at the end.
    scan
        How long to scan or listen.
    live
        Show decoded values for so long afterwards, such as "20 s"; in a terminal until Ctrl-C unless given.
    write
        Rig file to write for what was found, to record with.
    bluetooth
        Scan for Bluetooth LE peripherals too; --bluetooth=false leaves it out.
    force_overwrite
        Replace a rig file that is there already.
    """
    import asyncio

    from feltload.acquisition import parse_link
    from feltload.app.files.outputs import claim_file
    from feltload.app.sessions.sensor_watch import listen_to, rig_of, serial_line
    from feltload.core import parse_quantity, write_file

    console = Console(common)
    seconds = parse_quantity(scan, "time", where="--scan").value
    live_s = math.inf if live is None else parse_quantity(live, "time", where="--live").value
    if not port:
        return _list(console, seconds, bluetooth=bluetooth)
    if write is not None:
        claim_file(write, overwrite=force_overwrite)
    line = serial_line(baud=baud, parity=parity, start=start, stop=stop)
    links = [parse_link(text, line) for text in port]
    with console.progress(f"Listening to {', '.join(port)}: pull on the cell, tilt the sensor"):
        heard = asyncio.run(listen_to(links, seconds))
    for item in heard:
        _show_guess(console, item.where, item.guess)
    if write is not None:
        write_file(write, rig_of(heard))
        console.say(
            f"Rig file written to {write}; its comments say what was found, and what is still to be said"
        )
    _show_result(console, heard, write)
    if live is not None or (console.screen.is_terminal and not common.json):
        _watch(console, heard, live_s)
    return 0


def _list(console: Console, seconds: float, *, bluetooth: bool) -> int:
    """List what is in reach."""
    from feltload.acquisition import serial_ports
    from feltload.app.sessions.peripherals import shipped_for

    ports = serial_ports()
    console.say("Serial ports" if ports else "No serial ports.")
    for item in ports:
        console.say(f"  {item.name}  {item.device}")
    reachable, trouble = _scan(console, seconds) if bluetooth else ([], None)
    for peripheral in reachable:
        known = shipped_for(peripheral)
        fits = f"  (the shipped description {known} fits)" if known else ""
        console.say(f"  {peripheral.address}  {peripheral.rssi_dbm} dBm  {peripheral.name}{fits}")
    outlets = _outlets(console)
    console.result(
        {
            "outlets": outlets,
            "serial": [{"port": item.name, "device": item.device} for item in ports],
            "bluetooth": [
                {
                    "address": item.address,
                    "name": item.name,
                    "rssi_dbm": item.rssi_dbm,
                    "services": list(item.services),
                    "description": shipped_for(item),
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


def _outlets(console: Console) -> list[dict[str, object]]:
    """List outlets of the Lab Streaming Layer; without its library there are none."""
    from feltload.acquisition import LinkError, lsl_outlets

    try:
        with console.progress("Looking for outlets of the Lab Streaming Layer"):
            outlets = lsl_outlets(1.0)
    except LinkError:
        return []
    for outlet in outlets:
        console.say(f"  lsl://{outlet.name}  {outlet.channels} channels, {outlet.rate_hz:g} per second")
    return [{"outlet": item.name, "source_id": item.source_id, "channels": item.channels} for item in outlets]


def _show_guess(console: Console, port: str, guess: Guess) -> None:
    from feltload.app.text.facts import describe
    from feltload.app.text.sensor.guess import describe_unread, remarks

    if guess.framing is None:
        console.say(f"{port}: {describe_unread(guess)}")
        return
    by = f', delimiter "{guess.delimiter}"' if guess.delimiter else ""
    console.say(f"{port}: {guess.framing}{by}")
    for frame in guess.frames:
        unit = "columns" if guess.framing == "lines" else "bytes"
        rate = "" if math.isnan(frame.rate_hz) else f", about {frame.rate_hz:.0f} per second"
        check = f", {frame.checksum}" if frame.checksum else ""
        example = f", such as: {frame.example}" if frame.example else ""
        console.say(f"  {frame.size} {unit}{rate}{check}{example}")
    if guess.description is not None:
        console.say(f"  the shipped description {guess.description} fits")
    for stream in guess.streams:
        console.say(f"  {stream.description.kind}")
        for line in remarks(stream):
            console.say(f"    {line}")
    for fact in guess.facts:
        console.say(f"  {describe(fact)}")


def _show_result(console: Console, heard: list[Heard], write: Path | None) -> None:
    records = [_record(item) for item in heard]
    written = None if write is None else str(write)
    console.result(
        {**records[0], "written": written} if len(records) == 1 else {"ports": records, "written": written}
    )


def _record(item: Heard) -> dict[str, object]:
    guess = item.guess
    return {
        "port": item.where,
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
        "streams": [
            {"keys": stream.keys, "facts": [fact.to_dict() for fact in stream.facts]}
            for stream in guess.streams
        ],
        "facts": [fact.to_dict() for fact in guess.facts],
    }


def _watch(console: Console, heard: list[Heard], seconds: float) -> None:
    """Show decoded values until the time is over or Ctrl-C."""
    import asyncio

    from feltload.app.sessions.sensor_watch import watch

    def show(name: str, values: dict[str, float]) -> None:
        console.note(f"{name}: " + ", ".join(f"{column} {value:.6g}" for column, value in values.items()))

    if not any(item.guess.streams for item in heard):
        return
    console.note("Values as they come (Ctrl-C ends):")
    try:
        asyncio.run(watch(heard, seconds, show))
    except KeyboardInterrupt:
        return
