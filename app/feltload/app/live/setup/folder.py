"""What lies in the working folder: machine files, rig files, results, clients."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from feltload.acquisition import AnyCertificate, CertificateError, RigDescription, load_rig, parse_certificate
from feltload.app.files.recordings import read_certificates
from feltload.calibration import Machine, load_machine
from feltload.coaching import ClientFolder, capacity_from_json
from feltload.core import FeltloadError, read_text

PROFILE = "profile.json"
CLIENT = "client.json"
MOST = 200
"""Files that are looked at: a folder with more is no working folder."""

Read = TypeVar("Read")


@dataclass(frozen=True)
class WorkingFolder:
    """A folder that `feltload live` reads from and writes into; only what lies directly in it.

    Attributes
    ----------
    path : Path
    """

    path: Path

    def machines(self) -> dict[str, Machine]:
        """Machine files that can be read, by name."""
        return dict(self._readable("*.toml", load_machine))

    def rigs(self) -> dict[str, RigDescription]:
        """Rig files that can be read, by name."""
        return dict(self._readable("*.toml", load_rig))

    def certificates(self) -> dict[str, AnyCertificate]:
        """Calibration certificates that can be read, by name."""
        return dict(self._readable("*.json", _certificate))

    def capacities(self) -> dict[str, str]:
        """Files of what clients can produce, as `feltload client capacity` writes them, with their machine's name."""
        return {name: machine for name, (_, machine) in self._readable("*.json", capacity_from_json)}

    def results(self) -> tuple[str, ...]:
        """Folders that hold a measured profile."""
        return tuple(sorted(found.parent.name for found in self.path.glob(f"*/{PROFILE}")))

    def clients(self) -> tuple[str, ...]:
        """Codes of clients that have a folder here."""
        return tuple(sorted(found.parent.name for found in self.path.glob(f"*/{CLIENT}")))

    def client(self, code: str) -> ClientFolder:
        """A client's folder, made if there is none.

        Raises
        ------
        ClientFileError
            The code cannot be a folder's name, or the folder is damaged.
        """
        if code in self.clients():
            return ClientFolder.open(self.path / code)
        return ClientFolder.create(self.path, code=code)

    def free_name(self, stem: str, ending: str) -> Path:
        """A file or folder that is not there yet: the stem, with a number behind it where it is taken."""
        plain = plain_name(stem)
        numbered = (f"{plain}{'' if number == 1 else f'-{number}'}{ending}" for number in range(1, 10_000))
        return next(path for name in numbered if not (path := self.path / name).exists())

    def _readable(self, pattern: str, read: Callable[[Path], Read]) -> Iterator[tuple[str, Read]]:
        for path in sorted(self.path.glob(pattern))[:MOST]:
            try:
                yield path.name, read(path)
            except FeltloadError:
                # A file of another sort, or one that its own command says more about.
                continue


def _certificate(path: Path) -> AnyCertificate:
    # One that contradicts itself is not offered.
    read_certificates([path])
    return parse_certificate(read_text(path, CertificateError), where=path.name)


def plain_name(text: str) -> str:
    """A name as a file has it: small letters, digits and hyphens."""
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:60] or "unnamed"
