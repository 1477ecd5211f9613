"""Machine files: a surveyed machine as a person writes it down."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from feltload.calibration.errors import MachineError
from feltload.core import parse_toml, read_text

if TYPE_CHECKING:
    from feltload.calibration.machine.machine import Machine


def load_machine(path: Path | str) -> Machine:
    """Read a machine file.

    Raises
    ------
    MachineError
        It is missing, not TOML, or a key, unit or value in it cannot be used; the message names it.
    """
    path = Path(path)
    return parse_machine(read_text(path, MachineError, missing="no such machine file"), str(path))


def parse_machine(text: str, where: str = "machine file") -> Machine:
    """Read a machine from the text of its file; `where` names it in errors."""
    # Every mechanism's keys load with the first file.
    from feltload.calibration.machine.tables import machine_of

    data = parse_toml(text, MachineError, where=where, remedy='quantities are strings: radius = "270(3) mm"')
    return machine_of(data, where)
