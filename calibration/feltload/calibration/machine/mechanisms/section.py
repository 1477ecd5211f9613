"""The table of a machine file that describes a kind of mechanism."""

from __future__ import annotations

from abc import abstractmethod
from typing import ClassVar

from pydantic import Field

from feltload.calibration.machine.mechanism import Mechanism
from feltload.calibration.machine.mechanisms.masses import RidingMass
from feltload.calibration.machine.parameters import Section


class MechanismSection(Section):
    """A kind of mechanism as a machine file gives it, ``[kind]``; its quantities are the mechanism's dimensions.

    Attributes
    ----------
    kind : str
        Its name in a machine file.
    handle_turns : bool
        Whether its handle turns, so that the file has to say at which elevation it starts.
    mass : list of RidingMass
        What rides on its links, ``[[kind.mass]]``.
    """

    kind: ClassVar[str]
    handle_turns: ClassVar[bool] = True
    mass: list[RidingMass] = Field(default_factory=list)

    @abstractmethod
    def mechanism(self) -> Mechanism:
        """The kinematics.

        Raises
        ------
        MachineError
            Keys that exclude one another, or a table that cannot be used.
        """
