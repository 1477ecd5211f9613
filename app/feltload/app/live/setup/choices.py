"""What was chosen for the next recording, what is missing, and the request it makes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from pathlib import Path
from typing import Literal

from feltload.acquisition import load_rig
from feltload.app.files.inputs import read_load, read_machine_text
from feltload.app.files.invented import with_replays_flagged
from feltload.app.files.recordings import read_certificates
from feltload.app.live.phones.joined import GivenPhone
from feltload.app.live.recorder.request import RecordingRequest
from feltload.app.live.setup.contents import machine_of
from feltload.app.live.setup.folder import WorkingFolder, plain_name
from feltload.app.live.sources.filled_in import filled_in_request
from feltload.app.options import PersonOptions
from feltload.app.sessions.script_choice import PreparedScript
from feltload.app.text.numbers import load_text
from feltload.core import FeltloadError

Kind = Literal["machine", "holds", "helped"]
KINDS: tuple[Kind, ...] = ("machine", "holds", "helped")
Side = Literal["", "left", "right"]
SIDES: tuple[Side, ...] = ("", "left", "right")


class Missing(StrEnum):
    """What a recording cannot begin without."""

    MACHINE = "machine"
    SENSORS = "sensors"
    LOAD = "load"
    RESULT = "result"
    """A measured profile, which the positions of holds come from."""


@dataclass(frozen=True)
class Choices:
    """What was chosen; names are of files in the working folder.

    Attributes
    ----------
    machine, rig : str
        Empty while none is chosen.
    load : str
        As it was typed, such as "40 kg".
    kind : {"machine", "holds", "helped"}
    side : {"", "left", "right"}
    result : str
        Measured profile that holds or a helped set go by.
    capacity : str
        Capacity file of the client, for the partner's plan.
    client : str
        Client's code; empty for none.
    notes : str
    certificates : tuple of str
        Calibration certificates of the sensors.
    phone : str
        Phone in place of an inertial sensor; empty for none.
    """

    machine: str = ""
    rig: str = ""
    load: str = ""
    kind: Kind = "machine"
    side: Side = ""
    result: str = ""
    capacity: str = ""
    client: str = ""
    notes: str = ""
    certificates: tuple[str, ...] = ()
    phone: str = ""

    def load_trouble(self) -> str:
        """Why the load is none; empty when it is one, or nothing was typed yet."""
        if self.load.strip():
            try:
                read_load(self.load, "load")
            except FeltloadError as error:
                return str(error)
        return ""

    def missing(self, *, emulated: bool = False) -> tuple[Missing, ...]:
        """What has not been chosen; an emulated rig brings its sensors along."""
        needed = {
            Missing.MACHINE: self.machine,
            Missing.SENSORS: self.rig or emulated,
            Missing.LOAD: self.load.strip() and not self.load_trouble(),
            Missing.RESULT: self.result or self.kind != "holds",
        }
        return tuple(one for one, given in needed.items() if not given)

    @property
    def stem(self) -> str:
        """Name of the recording's file, without number and ending."""
        mass = load_text(read_load(self.load, "load").value)
        about = [Path(self.machine).stem, mass, self.side, "" if self.kind == "machine" else self.kind]
        return plain_name(" ".join(filter(None, about)))

    def for_person(self, folder: WorkingFolder, kind: Kind, result: str) -> Choices:
        """The same for a recording of a person on a measured machine, with the file of that machine."""
        machine = machine_of(folder.path / result)
        files = [name for name, described in folder.machines().items() if described.name == machine]
        chosen = self.machine if self.machine in files else next(iter(files), self.machine)
        return replace(self, kind=kind, result=result, machine=chosen)

    def person(self, folder: WorkingFolder, painful: Sequence[str] = ()) -> PersonOptions:
        """What a recording of a person goes by; a client's folder is made where there is none.

        Parameters
        ----------
        folder : WorkingFolder
        painful : sequence of str
            Ranges that hurt a client without a code.

        Raises
        ------
        ClientFileError
            The code cannot be a folder's name.
        """
        return PersonOptions(
            result=folder.path / self.result if self.result and self.kind != "machine" else None,
            capacity=folder.path / self.capacity if self.capacity and self.kind == "helped" else None,
            painful=list(painful) if painful and self.kind != "machine" else None,
            client=folder.client(self.client).path if self.client else None,
        )

    def prepare(
        self, folder: WorkingFolder, painful: Sequence[str] = (), phone: GivenPhone | None = None
    ) -> tuple[RecordingRequest, PreparedScript]:
        """The request to record, and what is said before it; `painful` as in `person`, `phone` as it is now.

        Raises
        ------
        FeltloadError
            A file cannot be used, or the load is none.
        """
        rig = with_replays_flagged(load_rig(folder.path / self.rig))
        notes = self.notes if phone is None else "; ".join(filter(None, (self.notes, phone.note)))
        return filled_in_request(
            rig=rig if phone is None else phone.in_rig(rig),
            machine_toml=read_machine_text(folder.path / self.machine),
            load=self.load,
            out=folder.free_name(self.stem, ".mcap"),
            kind=self.kind,
            side=self.side or None,
            notes=notes,
            person=self.person(folder, painful),
            certificates=read_certificates([folder.path / name for name in self.certificates]),
        )
