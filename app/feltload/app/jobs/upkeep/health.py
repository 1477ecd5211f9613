"""Friction, play and flex of a measured machine, and what changed since it was measured last."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Self

import numpy as np
from pydantic import BaseModel, ConfigDict, ValidationError

from feltload.app.errors import UsageError
from feltload.app.files.provenance import Provenance, load_provenance, text_sha256
from feltload.app.jobs.mechanism_limits import load_possible
from feltload.core import read_text, write_file
from feltload.signal import ComplianceFact, ProfileEstimate, mean_friction_n

LOG = "health.jsonl"
_SAME_LOAD_KG = 0.001


class KeptValue(BaseModel):
    """One figure of a measurement: mean friction at a load (N), play (rad) or the frequency it rings at (Hz)."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    kind: str
    load_kg: float | None = None
    value: float
    u95: float


class HealthEntry(BaseModel):
    """One measurement in the log of a machine."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)

    machine: str
    machine_sha256: str | None
    measured: str
    recordings: tuple[str, ...]
    values: tuple[KeptValue, ...]

    @classmethod
    def of(cls, estimate: ProfileEstimate, provenance: Provenance) -> Self:
        """What is kept of a result."""
        text = provenance.machine_toml
        return cls(
            machine=estimate.machine_name,
            machine_sha256=None if text is None else text_sha256(text),
            measured=max((source.started_utc for source in provenance.recordings), default=""),
            recordings=tuple(sorted(source.sha256 for source in provenance.recordings)),
            values=(*_friction(estimate), *_compliance(estimate)),
        )


@dataclass(frozen=True)
class HealthChange:
    """One figure now, and the same one before where it was kept."""

    now: KeptValue
    before: KeptValue | None

    @property
    def difference(self) -> float:
        """Now minus before; NaN where there is no before."""
        return float("nan") if self.before is None else self.now.value - self.before.value

    @property
    def u95(self) -> float:
        """Half-width of the 95 % band of the difference, both measurements as independent."""
        return float("nan") if self.before is None else float(np.hypot(self.now.u95, self.before.u95))

    @property
    def established(self) -> bool:
        """Whether it changed by more than the measurements' uncertainty."""
        return abs(self.difference) > self.u95


@dataclass(frozen=True)
class MachineHealth:
    """A measurement with what its machine's log says of the last one.

    Attributes
    ----------
    estimate : ProfileEstimate
    entry : HealthEntry
    before : HealthEntry or None
        The last measurement in the log.
    changes : tuple of HealthChange
    log : Path
    """

    estimate: ProfileEstimate
    entry: HealthEntry
    before: HealthEntry | None
    changes: tuple[HealthChange, ...]
    log: Path


def read_health(directory: Path, log: Path) -> MachineHealth:
    """A result compared with the last measurement in a log.

    Raises
    ------
    UsageError
        It was not measured, or the log is of another machine or damaged.
    """
    estimate, provenance = load_possible(directory), load_provenance(directory)
    if not estimate.measured:
        raise UsageError(
            "is a prediction, which says nothing about a machine's state",
            where=str(directory),
            remedy="name the directory that `feltload profile` wrote",
        )
    entry = HealthEntry.of(estimate, provenance)
    entries = read_log(log)
    for kept in entries:
        if kept.machine != entry.machine:
            raise UsageError(
                f"is the log of {kept.machine!r}, the result is of {entry.machine!r}",
                where=str(log),
                remedy="keep one log for each machine: name it with --log",
            )
    earlier = [
        kept for kept in entries if kept.measured <= entry.measured and kept.recordings != entry.recordings
    ]
    before = max(earlier, key=lambda kept: kept.measured) if earlier else None
    changes = tuple(HealthChange(value, _same(value, before)) for value in entry.values)
    return MachineHealth(estimate, entry, before, changes, log)


def read_log(path: Path) -> tuple[HealthEntry, ...]:
    """Every measurement in a log; none where there is no such file.

    Raises
    ------
    UsageError
        A line cannot be read.
    """
    if not path.exists():
        return ()
    entries = []
    for number, line in enumerate(read_text(path, UsageError).splitlines(), start=1):
        try:
            entries.append(HealthEntry.model_validate_json(line))
        except ValidationError as error:
            raise UsageError(
                f"line {number} is no measurement ({error.errors()[0]['msg']})",
                where=str(path),
                remedy="remove that line, or name another log with --log",
            ) from error
    return tuple(entries)


def append_entry(health: MachineHealth) -> None:
    """Add the measurement to its log, whole or not at all; what is there stays as it is.

    Raises
    ------
    UsageError
        It is in the log already.
    """
    for entry in read_log(health.log):
        if entry.recordings and entry.recordings == health.entry.recordings:
            raise UsageError(
                f"holds this measurement already, of {entry.measured[:10]}",
                where=str(health.log),
                remedy="leave out --keep, or measure again",
            )
    kept = read_text(health.log, UsageError) if health.log.exists() else ""
    if kept and not kept.endswith("\n"):
        kept += "\n"
    write_file(health.log, kept + health.entry.model_dump_json() + "\n", private=True)


def _friction(estimate: ProfileEstimate) -> list[KeptValue]:
    means = [mean_friction_n(estimate, index) for index in range(estimate.loads_kg.size)]
    return [
        KeptValue(kind="friction", load_kg=float(load), value=mean_n, u95=u95_n)
        for load, (mean_n, u95_n) in zip(estimate.loads_kg, means, strict=True)
        if np.isfinite(mean_n) and np.isfinite(u95_n)
    ]


def _compliance(estimate: ProfileEstimate) -> list[KeptValue]:
    figures = {
        ComplianceFact.PLAY: ("play", "play_rad", "u95_rad"),
        ComplianceFact.FLEX: ("ringing", "frequency_hz", "u95_hz"),
    }
    found: dict[str, KeptValue] = {}
    for fact in estimate.warnings:
        for kind, (name, value, u95) in figures.items():
            known = np.isfinite([fact.figure(value), fact.figure(u95)]).all() if fact.kind == kind else False
            if known:
                found.setdefault(name, KeptValue(kind=name, value=fact.figure(value), u95=fact.figure(u95)))
    return list(found.values())


def _same(value: KeptValue, before: HealthEntry | None) -> KeptValue | None:
    for kept in () if before is None else before.values:
        loads = (kept.load_kg or 0.0, value.load_kg or 0.0)
        if kept.kind == value.kind and abs(loads[0] - loads[1]) < _SAME_LOAD_KG:
            return kept
    return None
