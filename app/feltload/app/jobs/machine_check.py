"""A measured profile compared with a machine file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from feltload.app.errors import UsageError
from feltload.app.files.provenance import PlaceGravity, Provenance, load_provenance
from feltload.app.jobs.facts import InputFact
from feltload.app.jobs.free_swing import check_swing_recording
from feltload.app.jobs.mechanism_limits import load_possible, require_possible
from feltload.calibration import AgreementVerdict, Gravity, Machine, SwingCheck, load_machine, local_gravity
from feltload.core import Fact

if TYPE_CHECKING:
    from feltload.calibration import Agreement
    from feltload.signal import ProfileEstimate


@dataclass(frozen=True)
class MachineCheck:
    """Agreement of a measured profile with a machine file.

    Attributes
    ----------
    estimate : ProfileEstimate
        The measured machine.
    provenance : Provenance
        What it was made from, with the gravity that was computed with.
    machine : Machine
        As it was surveyed.
    agreement : Agreement
    swing : SwingCheck, optional
        The free swing of the unloaded arm against the same file.
    """

    estimate: ProfileEstimate
    provenance: Provenance
    machine: Machine
    agreement: Agreement
    swing: SwingCheck | None = None

    @property
    def gravity(self) -> PlaceGravity:
        """Gravity that was computed with."""
        return gravity_used(self.provenance)

    @property
    def remarks(self) -> tuple[Fact, ...]:
        """What is worth knowing about the file and the result, beside what the comparison found."""
        recorded, described = self.estimate.machine_name, self.machine.name
        if self.provenance.machine_toml is None or recorded == described:
            return ()
        return (Fact(InputFact.OTHER_NAME, figures={"recorded": recorded, "described": described}),)

    @property
    def agrees(self) -> bool:
        """Whether the profile agrees, and the free swing where there is one."""
        return self.agreement.verdict is AgreementVerdict.AGREES and (self.swing is None or self.swing.agrees)


def gravity_used(provenance: Provenance) -> PlaceGravity:
    """Gravity of the place; where none is stated, standard gravity, as uncertain as the place is unknown."""
    return provenance.gravity or PlaceGravity.of(local_gravity())


def check_measured(
    estimate: ProfileEstimate,
    provenance: Provenance,
    machine: Machine,
    *,
    swing_path: Path | None = None,
    side: str | None = None,
) -> MachineCheck:
    """Compare a measured profile, and where there is one a free swing, with a machine file."""
    from feltload.calibration import check_agreement

    gravity = gravity_used(provenance)
    swing = (
        None
        if swing_path is None
        else check_swing_recording(swing_path, machine, gravity.gravity(), side=side)
    )
    agreement = check_agreement(estimate, machine, gravity=gravity.gravity())
    used = provenance.model_copy(update={"gravity": gravity})
    return MachineCheck(estimate, used, machine, agreement, swing)


def check_result(
    directory: Path,
    machine_path: Path,
    *,
    place: Gravity | None = None,
    swing_path: Path | None = None,
    side: str | None = None,
) -> MachineCheck:
    """Compare a result of ``feltload profile`` with a machine file.

    Parameters
    ----------
    directory : Path
        The result.
    machine_path : Path
        Machine file with the surveyed geometry.
    place : Gravity, optional
        Gravity in place of the one kept with the result.
    swing_path : Path, optional
        Recording of the unloaded arm swinging freely.
    side : {"left", "right"}, optional
        Arm that swings.
    """
    estimate = load_possible(directory)
    if not estimate.measured:
        raise UsageError(
            "is a prediction, and comparing it with a machine file says nothing about a machine",
            where=str(directory),
            remedy="name the directory that `feltload profile` wrote",
        )
    provenance = load_provenance(directory)
    if place is not None:
        provenance = provenance.model_copy(update={"gravity": PlaceGravity.of(place)})
    machine = load_machine(machine_path)
    require_possible(estimate, machine, where=str(directory))
    return check_measured(estimate, provenance, machine, swing_path=swing_path, side=side)
