"""Kinds of mechanism, masses and add-ons; the examples of machine files. A new kind is a file here and a name below.

In: Tables of a machine file.
Out: Kinematics, and what rides on it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from feltload.calibration.machine.mechanism import Mechanism
from feltload.calibration.machine.mechanisms.cable import Cable, CableSection
from feltload.calibration.machine.mechanisms.four_bar import FourBar, FourBarSection
from feltload.calibration.machine.mechanisms.lever import Lever, LeverSection
from feltload.calibration.machine.mechanisms.section import MechanismSection
from feltload.calibration.machine.mechanisms.sled import Sled, SledSection
from feltload.calibration.machine.mechanisms.straight_pull import StraightPull, StraightPullSection

MECHANISMS: Final[Mapping[str, type[MechanismSection]]] = {
    section.kind: section
    for section in (LeverSection, FourBarSection, CableSection, StraightPullSection, SledSection)
}
"""Kind -> the table that describes it."""

KINEMATICS: Final[Mapping[str, type[Mechanism]]] = {
    mechanism.kind: mechanism for mechanism in (Lever, FourBar, Cable, StraightPull, Sled)
}
"""Kind -> its kinematics."""
