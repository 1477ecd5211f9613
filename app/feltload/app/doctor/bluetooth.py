"""Whether Bluetooth LE peripherals can be reached."""

from __future__ import annotations

import asyncio

from feltload.acquisition import LinkError, peripherals
from feltload.app.doctor.facts import DoctorFact
from feltload.core import Fact, Severity


def examine_bluetooth(scan_s: float) -> tuple[Fact, ...]:
    """Scan once; what hinders it is a caution, since sensors may have a cable."""
    try:
        found = asyncio.run(peripherals(scan_s))
    except LinkError as error:
        figures = {"what": error.what, "remedy": error.remedy or ""}
        return (Fact(DoctorFact.BLUETOOTH_NOT_USABLE, figures=figures),)
    return (Fact(DoctorFact.BLUETOOTH_READY, Severity.NOTE, figures={"in_reach": len(found)}),)
