"""What a result was made from, kept beside it so that it can be made again."""

from __future__ import annotations

import functools
import hashlib
import json
import platform
import subprocess
from dataclasses import replace
from importlib.metadata import distribution, version
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationError

from feltload.acquisition import StoredFact
from feltload.app.errors import AppError
from feltload.calibration import Gravity
from feltload.core import Fact, read_text, write_file

FILE_NAME = "provenance.json"


def _damage(stored: object) -> object:
    """Facts from JSON; older files keep one sentence for all of them, or null."""
    return (stored,) if isinstance(stored, str) else stored or ()


class StreamState(BaseModel):
    """One sensor's stream: how much arrived, and what went wrong."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str
    samples: int
    rate_hz: float | None
    faults: tuple[StoredFact, ...] = ()


class FieldCheckState(BaseModel):
    """One known weight that hung on the cell: its force, the force read, and how they compare.

    `en` and `agrees` are None where there is no certificate to judge by. `fact` is the outcome with its figures;
    results of an older format have a sentence, `text`, in its place.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    stream: str | None
    weight: str
    at_s: float
    applied_n: float
    measured_n: float | None
    en: float | None
    agrees: bool | None
    fact: StoredFact | None = None
    text: str = ""


class RecordingSource(BaseModel):
    """One recording: its name and load, when it was started, its state, and the hash of its bytes.

    `force_certificates` are the hashes of the certificates of its load cells: results with the same one have the same
    errors of calibration.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str
    sha256: str
    load_kg: float
    started_utc: str
    load_stated: str = ""
    notes: str = ""
    damage: Annotated[tuple[StoredFact, ...], BeforeValidator(_damage)] = ()
    streams: tuple[StreamState, ...] = ()
    field_checks: tuple[FieldCheckState, ...] = ()
    force_certificates: tuple[str, ...] = ()


class PlaceGravity(BaseModel):
    """Gravity where it was recorded, with its standard uncertainty, and where the value comes from."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    value_m_s2: float
    u_m_s2: float
    source: str

    @classmethod
    def of(cls, gravity: Gravity) -> PlaceGravity:
        """What a result's files keep of it."""
        return cls(value_m_s2=gravity.value, u_m_s2=gravity.u, source=gravity.text)

    def gravity(self) -> Gravity:
        """The value to compute with."""
        return Gravity(self.value_m_s2, self.u_m_s2, self.source)


class KeptCertificate(BaseModel):
    """A certificate given with the command: its text, its name, and the stream it was given for."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: str
    text: str
    stream: str | None = None


class Options(BaseModel):
    """How a measurement was asked for; files by their text, so that it can be made again without them.

    `machine_replaced` says that the machine file was given with the command; its text is kept beside these.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    side: str | None = None
    both_sides: bool = False
    accept_expired: bool = False
    unhelped: bool = False
    machine_replaced: bool = False
    rig_toml: str | None = None
    certificates: tuple[KeptCertificate, ...] = ()


class PredictionAsked(BaseModel):
    """How a prediction was asked for, beyond loads and travel, which its profile has.

    `travel_stated` says whether somebody stated how far the machine goes; `vary` are the dimensions that took several
    values, as they were typed.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    travel_stated: bool
    vary: tuple[str, ...] = ()


class Provenance(BaseModel):
    """Inputs and software of one result.

    Attributes
    ----------
    feltload : str
        Version that made it.
    revision : str
        Commit that it was built from, with "-dirty" where files had been changed; empty where that is not known.
    recordings : tuple of RecordingSource
        What it was estimated from.
    libraries : dict of str to str
        Versions of Python and of the libraries that compute.
    options : Options or None
        How it was asked for; None in results of versions that did not keep it, and of readings by hand.
    prediction : PredictionAsked or None
        How it was asked for, where it is a prediction.
    machine_toml : str or None
        Text of the machine file that tied the angle to the machine.
    invented : bool
        Whether the data comes from an emulated machine.
    gravity : PlaceGravity or None
        Gravity of the place, when it was stated.
    remarks : tuple of Fact
        What a reader should know about the inputs.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    feltload: str
    recordings: tuple[RecordingSource, ...]
    revision: str = ""
    libraries: dict[str, str] = {}
    options: Options | None = None
    prediction: PredictionAsked | None = None
    machine_toml: str | None = None
    invented: bool = False
    gravity: PlaceGravity | None = None
    remarks: tuple[StoredFact, ...] = ()

    @property
    def damage(self) -> tuple[Fact, ...]:
        """Damage of the recordings, which each fact names as its session."""
        return tuple(
            replace(fact, session=source.name) for source in self.recordings for fact in source.damage
        )

    def save(self, directory: Path) -> None:
        """Write it into the result's directory."""
        write_file(directory / FILE_NAME, self.model_dump_json(indent=2) + "\n")


def load_provenance(directory: Path) -> Provenance:
    """Read what a result was made from.

    Raises
    ------
    AppError
        If the file is missing or is not one of ours.
    """
    path = directory / FILE_NAME
    text = read_text(
        path, AppError, missing="is missing", remedy="name the directory that `feltload profile` wrote"
    )
    try:
        return Provenance.model_validate_json(text)
    except ValidationError as error:
        raise AppError(
            f"cannot be read ({error.errors()[0]['msg']})",
            where=str(path),
            remedy="recreate it with `feltload profile`",
        ) from error


@functools.cache
def software_version() -> str:
    """Version of feltload that is running."""
    return version("feltload")


@functools.cache
def software_revision() -> str:
    """Commit of feltload that is running; empty where that is not known."""
    installed = distribution("feltload").read_text("direct_url.json")
    commit = json.loads(installed or "{}").get("vcs_info", {}).get("commit_id", "")
    checkout = Path(__file__).parents[4]
    if commit or not ((checkout / ".git").exists() and (checkout / "pyproject.toml").exists()):
        return str(commit)
    words = ["git", "-C", str(checkout), "describe", "--always", "--dirty", "--abbrev=40", "--match="]
    try:
        done = subprocess.run(words, capture_output=True, text=True, timeout=10, check=True)
    except (OSError, subprocess.SubprocessError):
        return ""
    return done.stdout.strip()


@functools.cache
def library_versions() -> dict[str, str]:
    """Versions of Python and of the libraries that compute."""
    return {
        "python": platform.python_version(),
        **{name: version(name) for name in ("numpy", "scipy", "pandas")},
    }


def text_sha256(text: str) -> str:
    """Hash of a text, as 64 hexadecimal digits."""
    return hashlib.sha256(text.encode()).hexdigest()


def file_sha256(path: Path) -> str:
    """Hash of a file's bytes, as 64 hexadecimal digits."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
