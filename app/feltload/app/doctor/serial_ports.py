"""Whether the serial ports that are there may be opened; none is opened, since that resets many boards."""

from __future__ import annotations

import getpass
import os
from pathlib import Path

from feltload.acquisition import serial_ports
from feltload.app.doctor.facts import DoctorFact
from feltload.core import Fact, Figure, Severity


def examine_ports() -> tuple[Fact, ...]:
    """A fact for all ports that may be opened, and one for each that may not."""
    names = [port.name for port in serial_ports()]
    if not names:
        return (Fact(DoctorFact.NO_PORTS, Severity.NOTE),)
    forbidden = [name for name in names if not may_open(name)]
    usable = tuple(name for name in names if name not in forbidden)
    facts = [Fact(DoctorFact.PORTS_USABLE, Severity.NOTE, figures={"ports": usable})] if usable else []
    # A port that may be opened is enough: the others need not be a sensor's.
    severity = Severity.CAUTION if usable else Severity.SERIOUS
    return (*facts, *(forbidden_port(name, severity) for name in forbidden))


def may_open(port: str) -> bool:
    """Whether this account may read and write it; ports that are no files (Windows) are taken as permitted."""
    return os.name == "nt" or os.access(port, os.R_OK | os.W_OK)


def forbidden_port(port: str, severity: Severity) -> Fact:
    """Whose port it is, and whether the account is among them already."""
    group, member = _group_of(port)
    figures: dict[str, Figure] = {"port": port, "group": group, "member": member}
    return Fact(DoctorFact.PORT_FORBIDDEN, severity, figures=figures)


def _group_of(port: str) -> tuple[str, bool]:
    """Group of a port's file, and whether the account is in it by now."""
    import grp

    group = grp.getgrgid(Path(port).stat().st_gid)
    return group.gr_name, getpass.getuser() in group.gr_mem
