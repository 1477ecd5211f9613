"""A guided load-cell calibration in the terminal: hang, wait until it is still, next."""

from __future__ import annotations

import asyncio
import datetime as dt
from collections.abc import Sequence
from pathlib import Path

from rich.live import Live
from rich.text import Text

from feltload.acquisition import RigDescription, StreamDescription
from feltload.app.console import Console
from feltload.app.errors import UsageError
from feltload.app.sessions.keys import can_read_keys, on_keys
from feltload.app.sessions.live_readings import LiveReadings, force_stream, live_readings, reading_unit
from feltload.app.text.sensor.force_session import instruction_text, progress_text
from feltload.calibration import (
    READINGS_COLUMNS,
    ForceSession,
    ReadingsError,
    ReadingUnit,
    TakenReading,
    parse_head,
    plan_steps,
    read_readings,
    readings_row,
    readings_text,
    taken_readings,
)
from feltload.core import Quantity, parse_quantity, write_file

_LOOK_EVERY_S = 0.2
_CAUTIONS = (
    "Stay within the rated capacity of cell, shackles and straps with their safety factor.",
    "Never stand or reach under a hanging load; lower it if the support moves or creaks.",
    "The maker's instructions, local codes and the facility's rules come first.",
)
_KEYS = "Enter: the load is on · t: take it although it moves · q: leave, readings are kept"


def parse_weights(text: str) -> list[Quantity]:
    """Read "5 kg, 10.000(0.001) kg" into masses.

    Raises
    ------
    QuantityError
        A part that is no mass.
    """
    return [
        parse_quantity(part.strip(), "mass", where="--weights") for part in text.split(",") if part.strip()
    ]


def parse_positions(text: str | None, series: int) -> list[float | None]:
    """Read "0, 0, 120, 240" into one position per series; None where the cell is not turned.

    Raises
    ------
    UsageError
        Not numbers, or no series at all.
    """
    if text is None:
        if not 1 <= series <= 10:
            raise UsageError(f"{series} series", where="--series", remedy="take 1 to 10; three are usual")
        return [None] * series
    try:
        return [float(part) for part in text.split(",")]
    except ValueError as error:
        raise UsageError(
            f'"{text}" is no list of angles', where="--turned", remedy='write for example "0, 0, 120, 240"'
        ) from error


def guide(
    console: Console,
    rig: RigDescription,
    readings: Path,
    *,
    weights: Sequence[Quantity],
    positions_deg: Sequence[float | None],
    window_s: float,
    stream: str | None = None,
) -> bool:
    """Take readings of a load cell with a person in front of the terminal.

    Parameters
    ----------
    console : Console
    rig : RigDescription
        Names the cell's link; its rated capacity and serial number go into the readings file.
    readings : Path
        Readings file; one that is begun (by its head, or by a session that was left) goes on.
    weights : sequence of Quantity
        Masses to hang.
    positions_deg : sequence of float or None
        One series each, with the cell turned so.
    window_s : float
        How long a reading must be still.
    stream : str, optional
        Which load cell, where the rig has several.

    Returns
    -------
    bool
        Whether all readings have been taken.

    Raises
    ------
    UsageError
        No terminal, no such cell, or no serial number.
    OverloadError, ReadingsError
        Weights that must not or cannot be used, or a readings file that does not fit them.
    LinkError
        If the cell does not connect.
    """
    cell = force_stream(rig, stream)
    unit: ReadingUnit = "counts" if reading_unit(cell) == "counts" else "mV/V"
    text = _head(cell, readings)
    setup, rows = parse_head(text, where=readings.name)
    steps = plan_steps(
        weights,
        rated_capacity_n=setup.rated_capacity_n,
        positions_deg=positions_deg,
        latitude_rad=setup.latitude_rad,
    )
    before = taken_readings(read_readings(readings)) if rows else ()
    session = ForceSession(steps, before, window_s=window_s)
    if session.step is None:
        return True
    if not can_read_keys():
        raise UsageError(
            "a guided calibration needs a terminal with a keyboard",
            remedy="run it in one, or write the readings file by hand and calibrate from it",
        )
    write_file(readings, text)
    for caution in _CAUTIONS:
        console.note(f"! {caution}")
    if session.taken:
        console.note(f"{len(session.taken)} readings are in {readings} already; going on after them")
    return asyncio.run(_Guide(console, session, readings, unit).run(rig, cell))


def _head(cell: StreamDescription, readings: Path) -> str:
    """Text of the readings file with its head completed from the rig file."""
    text = readings_text(readings) if readings.exists() else ""
    setup, _ = parse_head(text, where=readings.name)
    lines = [line for line in text.splitlines() if line.strip()]
    names = next((line for line in lines if not line.startswith("#")), None)
    columns = ",".join(READINGS_COLUMNS)
    if names is not None and names.replace(" ", "") != columns:
        raise ReadingsError(
            "was not begun by a guided calibration",
            where=readings.name,
            remedy=f"its column names must be {columns}, or name a new file",
        )
    completed = {}
    if not setup.serial:
        if cell.serial is None:
            raise UsageError(
                "the serial number of the load cell is not stated",
                where=f"stream {cell.name}",
                remedy=f'write serial = "..." in the rig file, or "# serial: ..." in {readings.name}',
            )
        completed["serial"] = cell.serial
    if setup.date is None:
        completed["date"] = dt.date.today().isoformat()
    if setup.rated_capacity_n is None and cell.rated_capacity_n is not None:
        completed["rated capacity"] = f"{cell.rated_capacity_n:.10g} N"
    head = [f"# {key}: {value}" for key, value in completed.items()]
    return "\n".join([*head, *lines, *([] if names is not None else [columns])]) + "\n"


class _Guide:
    """The loop between keys, readings and session."""

    def __init__(self, console: Console, session: ForceSession, path: Path, unit: ReadingUnit) -> None:
        self._console, self._session, self._path, self._unit = console, session, path, unit
        self._keys: asyncio.Queue[str] = asyncio.Queue()

    async def run(self, rig: RigDescription, cell: StreamDescription) -> bool:
        """Go through the steps; False when the person left before the last."""
        self._console.note(f"Connecting {cell.name} ...")
        async with live_readings(rig, cell) as readings:
            with (
                on_keys(self._press),
                Live(console=self._console.screen, auto_refresh=False, transient=True) as live,
            ):
                while self._session.step is not None:
                    taken = await self._step(readings, live)
                    if taken is None:
                        return False
                    with self._path.open("a", encoding="utf-8") as file:
                        file.write(readings_row(taken, self._unit))
                    self._console.screen.bell()
                    done = f"{len(self._session.taken)}/{len(self._session.steps)}"
                    load = "empty" if taken.step.mass is None else taken.step.mass_text
                    self._console.note(
                        f"  {done}  {taken.step.direction} {load}: {taken.reading:.7g} {self._unit}, "
                        f"scatter {taken.spread:.2g}"
                    )
        return True

    def _press(self, key: str) -> None:
        if key.lower() in ("\n", "k", "t", "q", ""):
            self._keys.put_nowait(key.lower() or "q")

    async def _step(self, readings: LiveReadings, live: Live) -> TakenReading | None:
        """One load: until its reading is taken, or None when the person leaves."""
        session = self._session
        measuring = False
        in_doubt = False
        now = float("nan")
        line = "press Enter when it is on and hands are off"
        while True:
            time_s, values = readings.fresh()
            now = float(values[-1]) if len(values) else now
            if readings.trouble is not None:
                # Readings before and after a lost link do not make one window.
                session.begin()
                line = f"no readings: {readings.trouble}"
            elif measuring:
                progress = session.feed(time_s, values)
                line, in_doubt = progress_text(progress), progress.doubt is not None
                if progress.stable and not in_doubt:
                    return session.take()
                if in_doubt:
                    measuring = False
                    line = f"{line} Enter: measure again · k: it is right, keep it"
            live.update(self._picture(instruction_text(session), now, line), refresh=True)
            key = await self._key()
            if key == "q":
                return None
            if key == "k" and in_doubt:
                return session.take()
            if key == "t" and measuring and session.can_take(although_moving=True):
                return session.take(although_moving=True)
            if key == "\n":
                session.begin()
                measuring, in_doubt, line = True, False, "wait"

    async def _key(self) -> str | None:
        try:
            async with asyncio.timeout(_LOOK_EVERY_S):
                return await self._keys.get()
        except TimeoutError:
            return None

    def _picture(self, instruction: str, now: float, line: str) -> Text:
        text = Text()
        text.append(f"{len(self._session.taken) + 1}/{len(self._session.steps)}  ", style="dim")
        text.append(instruction + "\n", style="bold")
        text.append(f"now {now:.7g} {self._unit}   {line}\n")
        text.append(_KEYS, style="dim")
        return text
