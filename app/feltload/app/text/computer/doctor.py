"""Sentences about the computer that is to measure, each fault with its remedy."""

from __future__ import annotations

from collections.abc import Mapping

from feltload.app.doctor.facts import DoctorFact
from feltload.app.text.common import Sentence
from feltload.core import Fact

USES: Mapping[str, str] = {
    "parquet": "Parquet tables",
    "c3d": "C3D files for motion-capture software",
    "lsl": "outlets of the Lab Streaming Layer",
    "live": "the page that runs a measurement in a browser",
}
"""What an extra is for."""


def _words(fact: Fact, name: str) -> list[str]:
    values = fact.figures[name]
    return [str(value) for value in values] if isinstance(values, tuple) else []


def _bluetooth(fact: Fact) -> str:
    found = int(fact.figure("in_reach"))
    return "works; " + (
        "no peripheral is advertising" if not found else f"{found} peripherals are advertising"
    )


def _forbidden(fact: Fact) -> str:
    port, group = fact.figures["port"], fact.figures["group"]
    if fact.figures["member"]:
        return (
            f"{port} cannot be opened yet; log out and in again, since membership in {group} begins with that"
        )
    return f"{port} cannot be opened by this account; run `sudo usermod -aG {group} $USER`, then log out and in again"


def _room(fact: Fact) -> str:
    hours = min(fact.figure("hours"), 9999.0)
    return f"{fact.figure('free_byte') / 1e9:.1f} GB free in {fact.figures['folder']}, about {hours:.0f} h of recording"


def _extra(fact: Fact) -> str:
    extra = str(fact.figures["extra"])
    use = USES.get(extra, extra)
    return f'extra {extra} is not installed; for {use}: pip install "feltload[{extra}]"'


SENTENCES: Mapping[str, Sentence] = {
    DoctorFact.BLUETOOTH_READY: _bluetooth,
    DoctorFact.BLUETOOTH_NOT_USABLE: lambda fact: f"{fact.figures['what']}; {fact.figures['remedy']}",
    DoctorFact.PORTS_USABLE: lambda fact: ", ".join(_words(fact, "ports")),
    DoctorFact.NO_PORTS: lambda _: (
        "none is there; plug the board in by a cable that carries data, not power alone"
    ),
    DoctorFact.PORT_FORBIDDEN: _forbidden,
    DoctorFact.DISK_ROOM: _room,
    DoctorFact.DISK_LOW: lambda fact: f"only {_room(fact)}; make room or record to another disk",
    DoctorFact.FOLDER_READ_ONLY: lambda fact: (
        f"nothing can be written in {fact.figures['folder']}; change to a folder of your own"
    ),
    DoctorFact.CLOCK_SOUND: lambda fact: f"steps of {1e6 * fact.figure('resolution_s'):.3g} µs",
    DoctorFact.CLOCK_COARSE: lambda fact: (
        f"steps of {1e3 * fact.figure('resolution_s'):.3g} ms, so sensors without a clock of their own are joined "
        "coarsely; use sensors that send their own clock"
    ),
    DoctorFact.CLOCK_BEHIND: lambda fact: (
        f"the date is {fact.figures['today']}, before this program was installed on {fact.figures['installed']}: "
        "certificates are judged by a wrong date; set the computer's clock"
    ),
    DoctorFact.LIBRARIES_SOUND: lambda fact: (
        f"feltload {fact.figures['feltload']}, Python {fact.figures['python']}, {fact.figures['count']} libraries as "
        "needed"
    ),
    DoctorFact.LIBRARY_MISSING: lambda fact: (
        f"{fact.figures['library']} is not installed; pip install {fact.figures['library']}"
    ),
    DoctorFact.LIBRARY_UNSUITED: lambda fact: (
        f"{fact.figures['library']} is {fact.figures['version']}, needed is {fact.figures['needed']}; "
        f'pip install "{fact.figures["library"]}{fact.figures["needed"]}"'
    ),
    DoctorFact.EXTRA_READY: lambda fact: f"extra {fact.figures['extra']} is installed",
    DoctorFact.EXTRA_ABSENT: _extra,
    DoctorFact.BROWSER_FOUND: lambda _: "found, for reports",
    DoctorFact.BROWSER_ABSENT: lambda _: (
        "none is known to the system; copy the report's file to a computer or phone that has one"
    ),
    DoctorFact.TLS_READY: lambda fact: f"encryption for a phone by {fact.figures['library']}",
    DoctorFact.TLS_OLD: lambda fact: (
        f"{fact.figures['library']} lacks TLS 1.2, so phones refuse the live page; install a newer Python"
    ),
}
"""Kind -> what is said of it."""
