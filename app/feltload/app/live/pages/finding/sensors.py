"""The page that finds sensors, shows what an unknown one sends, and writes its description."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from nicegui import ui

from feltload.acquisition import Peripheral, parse_link, peripherals, sample_link, serial_ports
from feltload.app.live.pages.bench import Bench
from feltload.app.live.pages.elements import Plain, heading, paragraph, section
from feltload.app.live.pages.finding.phone_parts import phone_section
from feltload.app.live.pages.shell import Page, inside
from feltload.app.live.setup.folder import plain_name
from feltload.app.sessions.peripherals import hear_peripheral
from feltload.app.sessions.sensor_watch import (
    Heard,
    has_counts,
    in_newtons,
    latest_values,
    rig_of,
    serial_line,
)
from feltload.app.text.live import sensors as words
from feltload.app.text.live.start import WATCH_ONLY
from feltload.app.text.sensor.guess import arrives
from feltload.core import InputError, write_file

LISTEN_S = 5.0
BAUD = "115200"
PROGRAM = "program:"
UNNAMED = ("", "n/a")
"""What systems call a device that says nothing of itself."""


def declare(bench: Bench) -> None:
    """Declare the page."""

    @ui.page("/sensors")
    def sensors() -> None:
        with Page(bench, words.HEADING, "/sensors", classes="two") as page:
            if page.controls:
                _Assistant(page).build()
                phone_section(page)
            else:
                paragraph(WATCH_ONLY, "wide")


class _Assistant:
    """What was found and heard by one person at the page."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.heard: dict[str, tuple[Heard, dict[str, str]]] = {}
        self.counts: dict[str, str] = {}
        self.address, self.baud, self.name = "", BAUD, "rig"

    def build(self) -> None:
        """Ports, Bluetooth, what arrives, and the rig file."""
        with section(words.PORTS):
            paragraph(words.HOW, "small")
            self.ports = Plain("div", classes="picks")
            self.page.act(words.LOOK, self._list_ports)
            self.page.field(words.BAUD, self.baud, lambda text: self._set("baud", text), hint=words.BAUD_HINT)
            self.page.field(words.OTHER, "", lambda text: self._set("address", text), hint=words.OTHER_HINT)
            self.page.act(words.LISTEN, lambda: self._listen(self.address.strip()))
        with section(words.BLUETOOTH):
            paragraph(words.BLUETOOTH_HOW, "small")
            self.near_state = Plain("p", attributes={"role": "status"})
            self.near = Plain("div", classes="picks")
            self.page.act(words.SCAN, self._scan)
        with section(words.HEARD).classes("wide"):
            self.state = Plain("p", attributes={"role": "status"})
            self.arrived = Plain("div", classes="inner")
            self.page.field(words.NAME, self.name, lambda text: self._set("name", text))
            self.write = self.page.act(words.WRITE, self._write, "act main")
        self._list_ports()
        self._show()

    def _set(self, name: str, text: str) -> None:
        setattr(self, name, text)

    def _list_ports(self) -> None:
        found = serial_ports()
        with inside(self.ports):
            if not found:
                paragraph(words.NO_PORTS)
            for port in found:
                with self.page.act("", self._listener(port.name), "pick"):
                    Plain("b", port.name)
                    if port.device not in UNNAMED:
                        Plain("span", port.device, "small")

    def _listener(self, address: str) -> Callable[[], Any]:
        return lambda: self._listen(address)

    async def _listen(self, address: str) -> None:
        if not address:
            raise InputError("an address is needed", where=words.OTHER, remedy=words.OTHER_HINT)
        if address.startswith(PROGRAM):
            # Whoever holds the code may measure, not run programs on this computer.
            raise InputError(
                "programs are not started from a page", where=words.OTHER, remedy=words.OTHER_HINT
            )
        if not self.baud.strip().isdigit():
            raise InputError(f'"{self.baud}" is no speed', where=words.BAUD, remedy="such as 115200")
        link = parse_link(address, serial_line(baud=int(self.baud), parity="none", start="", stop=""))
        self.state.say(words.LISTENING)
        try:
            guess, messages = await sample_link(link, seconds=LISTEN_S)
        finally:
            self.state.say("")
        self._heard(address, Heard(link, guess), messages)
        self._show()

    def _heard(self, where: str, heard: Heard, messages: list[tuple[int, bytes]]) -> None:
        values: dict[str, str] = {
            stream.description.kind: words.values_text(latest_values(messages, stream))
            for stream in heard.guess.streams
        }
        self.heard[where] = (heard, values)

    async def _scan(self) -> None:
        self.near_state.say(words.SCANNING)
        self.near.clear()
        try:
            found = await peripherals()
        finally:
            self.near_state.say("")
        self.near_state.say("" if found else words.NOBODY)
        with inside(self.near):
            for peripheral in found:
                with self.page.act("", partial(self._listen_near, peripheral), "pick"):
                    Plain("b", peripheral.name or words.NO_NAME)
                    Plain("span", words.peripheral_text(peripheral), "small")

    async def _listen_near(self, peripheral: Peripheral) -> None:
        """Listen to everything that a peripheral sends."""
        self.state.say(words.LISTENING)
        try:
            found = await hear_peripheral(peripheral, LISTEN_S)
        finally:
            self.state.say("")
        for number, (heard, messages) in enumerate(found, start=1):
            where = peripheral.name or peripheral.address
            self._heard(where if len(found) == 1 else f"{where}, {number}", heard, messages)
        self._show()

    def _show(self) -> None:
        with inside(self.arrived):
            for address, (heard, values) in self.heard.items():
                known = bool(heard.guess.streams)
                heading(f"{address}: {words.UNDERSTOOD if known else words.NOT_UNDERSTOOD}", 3)
                for line in arrives(heard.guess):
                    paragraph(line, "small")
                for kind, text in values.items():
                    paragraph(f"{words.kind_word(kind)}, last: {text}", "small")
                if has_counts(heard):
                    self.page.field(
                        words.COUNTS,
                        self.counts.get(address, ""),
                        partial(self.counts.__setitem__, address),
                        hint=words.COUNTS_HINT,
                        keyboard="decimal",
                    )
                self.page.act(words.FORGET, self._forgetter(address))
        ready = any(heard.guess.streams for heard, _ in self.heard.values())
        self.write.attribute("disabled", None if ready else True)

    def _forgetter(self, address: str) -> Callable[[], None]:
        def forget() -> None:
            self.heard.pop(address, None)
            self._show()

        return forget

    def _write(self) -> None:
        text = rig_of([self._said(where, heard) for where, (heard, _) in self.heard.items()])
        path = self.page.bench.folder.free_name(plain_name(self.name or "rig"), ".toml")
        write_file(path, text)
        self.page.bench.choices = replace(self.page.bench.choices, rig=path.name)
        self.state.say(words.written_text(path.name))

    def _said(self, where: str, heard: Heard) -> Heard:
        """With what a person says about it."""
        counts = self.counts.get(where, "").strip()
        if not counts or not has_counts(heard):
            return heard
        try:
            counts_per_n = float(counts)
        except ValueError:
            counts_per_n = math.nan
        if not math.isfinite(counts_per_n) or counts_per_n == 0.0:
            raise InputError(
                f'"{counts}" cannot be read as a number', where=words.COUNTS, remedy="such as 400"
            )
        return in_newtons(heard, counts_per_n)
