"""Room on the disk and soundness of the clocks."""

from __future__ import annotations

import shutil
import tempfile
import time
from datetime import UTC, datetime
from importlib.metadata import distribution
from pathlib import Path

from feltload.app.doctor.facts import DoctorFact
from feltload.core import Fact, Severity

BYTES_PER_HOUR = 0.25e9
"""Two sensors at 1 kHz as the recorder writes them: bytes and stamps uncompressed, rounded up (an estimate)."""

LEAST_HOURS = 1.0
"""Less room than for this long is little."""

COARSEST_STEP_S = 2e-3
"""Arrivals of a sensor at 1 kHz that are gathered for 5 to 10 ms are told apart down to this step."""


def examine_folder(folder: Path) -> tuple[Fact, ...]:
    """Whether `folder` can be written to, and for how long."""
    try:
        with tempfile.TemporaryFile(dir=folder):
            free = shutil.disk_usage(folder).free
    except OSError:
        figures = {"folder": str(folder.resolve())}
        return (Fact(DoctorFact.FOLDER_READ_ONLY, Severity.SERIOUS, figures=figures),)
    return (room_fact(free, folder),)


def room_fact(free_byte: int, folder: Path) -> Fact:
    """How much room is left."""
    hours = free_byte / BYTES_PER_HOUR
    little = hours < LEAST_HOURS
    return Fact(
        DoctorFact.DISK_LOW if little else DoctorFact.DISK_ROOM,
        Severity.SERIOUS if little else Severity.NOTE,
        figures={"folder": str(folder.resolve()), "free_byte": free_byte, "hours": hours},
    )


def examine_clock() -> tuple[Fact, ...]:
    """The clock that stamps arrivals, and the date that certificates are judged by."""
    return (
        step_fact(time.get_clock_info("monotonic").resolution),
        *date_facts(datetime.now(UTC), installed()),
    )


def step_fact(resolution_s: float) -> Fact:
    """Whether the stamping clock is fine enough."""
    coarse = resolution_s > COARSEST_STEP_S
    return Fact(
        DoctorFact.CLOCK_COARSE if coarse else DoctorFact.CLOCK_SOUND,
        Severity.CAUTION if coarse else Severity.NOTE,
        figures={"resolution_s": resolution_s},
    )


def date_facts(now: datetime, since: datetime | None) -> tuple[Fact, ...]:
    """A date before the installation is wrong, and with it whether a certificate has expired."""
    if since is None or now >= since:
        return ()
    figures = {"today": f"{now:%Y-%m-%d}", "installed": f"{since:%Y-%m-%d}"}
    return (Fact(DoctorFact.CLOCK_BEHIND, Severity.SERIOUS, figures=figures),)


def installed() -> datetime | None:
    """When this program was installed; None where its files do not show it."""
    record = distribution("feltload").locate_file("")
    stamps = [path.stat().st_mtime for path in Path(str(record)).glob("feltload-*.dist-info/METADATA")]
    return datetime.fromtimestamp(max(stamps), UTC) if stamps else None
