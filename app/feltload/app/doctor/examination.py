"""One part of the computer after another, each examined on its own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from feltload.app.doctor.bluetooth import examine_bluetooth
from feltload.app.doctor.browser import examine_browser
from feltload.app.doctor.computer import examine_clock, examine_folder
from feltload.app.doctor.libraries import examine_libraries
from feltload.app.doctor.serial_ports import examine_ports
from feltload.core import Fact, Severity


@dataclass(frozen=True)
class Examination:
    """What was found about one part.

    Attributes
    ----------
    part : str
        Its name.
    facts : tuple of Fact
        At least one.
    """

    part: str
    facts: tuple[Fact, ...]

    @property
    def severity(self) -> Severity:
        """The gravest of its facts."""
        order = list(Severity)
        return max((fact.severity for fact in self.facts), key=order.index)


def examine(folder: Path, *, scan_s: float = 2.0, bluetooth: bool = True) -> Iterator[Examination]:
    """Examine every part; what one of them does never keeps the next from being looked at.

    Parameters
    ----------
    folder : Path
        Where recordings are to be written.
    scan_s : float
        How long to scan for Bluetooth LE peripherals.
    bluetooth : bool
        Whether to scan at all.
    """
    parts: dict[str, Callable[[], tuple[Fact, ...]]] = {
        "Bluetooth": lambda: examine_bluetooth(scan_s),
        "serial ports": examine_ports,
        "disk": lambda: examine_folder(folder),
        "clock": examine_clock,
        "libraries": examine_libraries,
        "browser": examine_browser,
    }
    for part, look in parts.items():
        if part != "Bluetooth" or bluetooth:
            yield Examination(part, look())
