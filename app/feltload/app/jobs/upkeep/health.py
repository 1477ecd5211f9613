"""Friction, play and flex of a measured machine, and what changed since it was measured last and first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from feltload.app.errors import UsageError
from feltload.app.files.provenance import load_provenance
from feltload.app.jobs.comparing.results import both_arms
from feltload.app.jobs.mechanism_limits import load_possible
from feltload.app.jobs.upkeep.changes import HealthChange, Trend, compare_entries, trends
from feltload.app.jobs.upkeep.entries import HealthEntry
from feltload.app.jobs.upkeep.log import HealthLog, append_entries, read_log
from feltload.coaching import CurveDifference, curve_difference
from feltload.signal import ProfileEstimate

SAME_WAY_SHARE = 0.03
"""A handle that goes this much further over the same rotation is of another geometry (our convention)."""


@dataclass(frozen=True)
class Since:
    """An earlier measurement with what changed since."""

    entry: HealthEntry
    changes: tuple[HealthChange, ...]


@dataclass(frozen=True)
class ArmHealth:
    """One arm of a machine, or the whole of one without sides.

    Attributes
    ----------
    estimate : ProfileEstimate
    invented : bool
        Whether its data comes from an emulated machine.
    entry : HealthEntry
    earlier : tuple of HealthEntry
        Measurements in the log before this one, oldest first, made as this one was.
    otherwise : int
        How many before this one were made in another way: friction at stops is not that of a machine that moves.
    last, first : Since or None
        Compared with the one before and with the first of all; `first` is None where those are one.
    trends : tuple of Trend
    """

    estimate: ProfileEstimate
    invented: bool
    entry: HealthEntry
    earlier: tuple[HealthEntry, ...]
    otherwise: int
    last: Since | None
    first: Since | None
    trends: tuple[Trend, ...]

    @property
    def since(self) -> tuple[Since, ...]:
        """The measurements that it is compared with."""
        return tuple(each for each in (self.last, self.first) if each is not None)


@dataclass(frozen=True)
class MachineHealth:
    """A measurement with what its machine's log says.

    Attributes
    ----------
    arms : tuple of ArmHealth
        Left and right, or one.
    sides : tuple of (float, CurveDifference)
        Load, and friction of the left arm minus that of the right one along the rotation.
    path : Path
        Of the log.
    log : HealthLog
    """

    arms: tuple[ArmHealth, ...]
    sides: tuple[tuple[float, CurveDifference], ...]
    path: Path
    log: HealthLog

    @property
    def machine(self) -> str:
        """Its name."""
        return self.arms[0].entry.machine

    def keep(self) -> None:
        """Add the measurement to its log.

        Raises
        ------
        UsageError
            It is there already.
        """
        append_entries(self.path, [arm.entry for arm in self.arms])


def read_health(directory: Path, path: Path) -> MachineHealth:
    """A result, or both arms of one, compared with its machine's log.

    Raises
    ------
    UsageError
        It was not measured, or the log is of another machine or geometry, or damaged.
    """
    log = read_log(path)
    arms = tuple(_arm(each, path, log.entries) for each in both_arms(directory))
    return MachineHealth(arms, _sides(arms), path, log)


def _arm(directory: Path, path: Path, entries: Sequence[HealthEntry]) -> ArmHealth:
    estimate, provenance = load_possible(directory), load_provenance(directory)
    if not estimate.measured:
        raise UsageError(
            "is a prediction, which says nothing about a machine's state",
            where=str(directory),
            remedy="name the directory that `feltload profile` wrote",
        )
    entry = HealthEntry.of(estimate, provenance)
    for kept in entries:
        _require_alike(entry, kept, path)
    before = tuple(
        sorted(
            (
                kept
                for kept in entries
                if kept.side == entry.side
                and kept.measured <= entry.measured
                and kept.recordings != entry.recordings
            ),
            key=lambda kept: kept.measured,
        )
    )
    earlier = tuple(kept for kept in before if kept.method in (None, entry.method))
    compared = (*earlier[-1:], *(earlier[:1] if len(earlier) > 1 else ()))
    since = [Since(kept, compare_entries(entry, kept, times=len(compared))) for kept in compared]
    return ArmHealth(
        estimate,
        provenance.invented,
        entry,
        earlier,
        len(before) - len(earlier),
        since[0] if since else None,
        since[1] if len(since) > 1 else None,
        trends((*earlier, entry)),
    )


def _require_alike(entry: HealthEntry, kept: HealthEntry, path: Path) -> None:
    if kept.machine != entry.machine:
        raise UsageError(
            f"is the log of {kept.machine!r}, the result is of {entry.machine!r}",
            where=str(path),
            remedy="keep one log for each machine: name it with --log",
        )
    reason = _other_geometry(entry, kept)
    if reason:
        raise UsageError(
            f"is the log of {kept.machine!r} with another geometry: on {kept.measured[:10]} {reason}",
            where=str(path),
            remedy="keep another log for the machine as it is now: name it with --log",
        )


def _other_geometry(entry: HealthEntry, kept: HealthEntry) -> str:
    """Why friction of two entries cannot be compared; empty where it can."""
    if None not in (entry.mechanism, kept.mechanism) and entry.mechanism != kept.mechanism:
        return f"it was a {kept.mechanism}, now it is a {entry.mechanism}"
    if not (entry.handle_path_m and kept.handle_path_m):
        return ""
    low = max(entry.rotation_rad[0], kept.rotation_rad[0])
    high = min(entry.rotation_rad[-1], kept.rotation_rad[-1])
    if low >= high:
        return ""
    now, before = (
        float(np.ptp(np.interp([low, high], each.rotation_rad, each.handle_path_m))) for each in (entry, kept)
    )
    if abs(now - before) <= SAME_WAY_SHARE * max(now, before):
        return ""
    return (
        f"the handle went {100.0 * before:.0f} cm over a rotation over which it now goes {100.0 * now:.0f} cm"
    )


def _sides(arms: Sequence[ArmHealth]) -> tuple[tuple[float, CurveDifference], ...]:
    if len(arms) < 2:
        return ()
    pairs = []
    for kept in arms[0].entry.friction:
        curves = [arm.entry.curve(kept.load_kg) for arm in arms]
        if curves[0] is not None and curves[1] is not None:
            pairs.append((kept.load_kg, curves[0], curves[1]))
    # The mean is asked for, and each place.
    return tuple((load, curve_difference(a, b, curves=2 * len(pairs))) for load, a, b in pairs)
