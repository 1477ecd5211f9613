"""Kinds of mechanism. A new one is a file here and a line in `MECHANISMS`."""

from __future__ import annotations

from typing import Any, Final

from feltload.calibration.machine.mechanisms.cable import Cable
from feltload.calibration.machine.mechanisms.four_bar import FourBar
from feltload.calibration.machine.mechanisms.lever import Lever
from feltload.calibration.machine.mechanisms.sled import Sled

# The constructor takes its own section; Any, because each kind's section is its own type.
MECHANISMS: Final[dict[str, Any]] = {kind.kind: kind for kind in (Lever, FourBar, Cable, Sled)}
