"""Painful ranges: read from the command line, a capacity file and a client's folder, and kept in both."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from feltload.app.errors import UsageError
from feltload.app.jobs.client_inputs import PersonSession
from feltload.app.jobs.mechanism_limits import load_possible
from feltload.app.jobs.quantities import read_range_rad
from feltload.app.jobs.travel import span_records
from feltload.calibration import load_machine, reference_of
from feltload.coaching import (
    CapacityCurve,
    CapacityError,
    CapacitySource,
    Caution,
    ClientFolder,
    OverlapError,
    PainfulTravelError,
    PainfulWork,
    PainMark,
    WorkingTravel,
    add_marks,
    capacity_from_json,
    placed_marks,
    remove_marks,
    standing_spans,
    working_travel,
)
from feltload.signal import ProfileEstimate, Travel, whole_travel

Span = tuple[float, float]


def read_spans(
    texts: Sequence[str] | None, option: str, travel: Travel | None = None, *, measured: bool = True
) -> tuple[Span, ...]:
    """Ranges such as "20:40 deg", "30:45 cm" or "60:90 %"; see `read_range_rad`."""
    return tuple(read_range_rad(text, option, travel, measured=measured) for text in texts or ())


@dataclass(frozen=True)
class KnownPain:
    """What is known to hurt a client, apart from a capacity file.

    Attributes
    ----------
    texts : tuple of str
        Ranges named on the command line, in the units of the machine that they are used on.
    folder : ClientFolder or None
        The client's.
    """

    texts: tuple[str, ...] = ()
    folder: ClientFolder | None = None

    @classmethod
    def read(cls, painful: Sequence[str] | None, client: Path | None) -> KnownPain:
        """From the options of a command."""
        return cls(tuple(painful or ()), None if client is None else ClientFolder.open(client))

    @property
    def code(self) -> str:
        """The client's, where a folder is known."""
        return "" if self.folder is None else self.folder.record.code

    def on(
        self, machine: str, travel: Travel, side: str | None = None, *, measured: bool = True
    ) -> tuple[Span, ...]:
        """Ranges of this machine that are marked now; `travel` is the `measured` one, or as far as its file gives it.

        Raises
        ------
        UsageError
            When a range is named in what the machine's positions do not have.
        PainfulTravelError
            When a kept mark was made on another mechanism.
        """
        kept = () if self.folder is None else self.folder.painful_on(machine, side)
        named = read_spans(self.texts, "--painful", travel, measured=measured)
        return standing_spans(add_marks(placed_marks(kept, travel), named))

    def with_capacity(
        self, path: Path | None, profile: ProfileEstimate, side: str | None = None
    ) -> tuple[Span, ...]:
        """The same, with those of a capacity file of this machine."""
        if path is None:
            return self.on(profile.machine_name, profile.travel, side)
        return read_marked_capacity(path, profile, self).painful_rad


NO_PAIN_KNOWN = KnownPain()


def read_marked_capacity(
    path: Path, profile: ProfileEstimate, pain: KnownPain = NO_PAIN_KNOWN
) -> CapacityCurve:
    """A capacity curve of a profile's machine (or read from a table), with every range that is marked painful.

    Raises
    ------
    UsageError
        When it is of another machine.
    """
    curve, measured_on = capacity_from_json(path)
    if curve.source != CapacitySource.TABLE and measured_on != profile.machine_name:
        raise UsageError(
            f"was measured on {measured_on!r}, the profile is of {profile.machine_name!r}",
            where=str(path),
            remedy="measure the capacity at this machine's handle",
        )
    return curve.placed(profile.travel, where=str(path)).marked(
        pain.on(profile.machine_name, profile.travel, curve.side)
    )


def named_machine(result: Path | None, machine: Path | None) -> tuple[str, Travel]:
    """Name of the machine that a result or a machine file is of, and its travel.

    A name typed by hand could mark no machine at all.

    Raises
    ------
    UsageError
        When neither is given, or both are and differ.
    """
    found: list[tuple[str, Travel]] = []
    if result is not None:
        profile = load_possible(result)
        found.append((profile.machine_name, profile.travel))
    if machine is not None:
        surveyed = load_machine(machine)
        found.append((surveyed.name, whole_travel(reference_of(surveyed))))
    if not found:
        raise UsageError(
            "which machine it is must be known",
            where="--result, --machine",
            remedy="name the directory that `feltload profile` wrote, or the machine file",
        )
    if len({name for name, _ in found}) > 1:
        raise UsageError(
            f"is of {found[0][0]!r}, the machine file of {found[1][0]!r}",
            where=str(result),
            remedy="give one of the two",
        )
    return found[0]


@dataclass(frozen=True)
class PainKeeper:
    """Marks of a capacity that is being measured: new ones, those kept from before, and those removed on purpose.

    Attributes
    ----------
    added, removed : tuple of str
        Ranges as they were typed.
    folder : ClientFolder or None
    earlier : Path or None
        Capacity file that is to be replaced: its marks go on.
    now : str
        Date of what changes.
    """

    added: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    folder: ClientFolder | None = None
    earlier: Path | None = None
    now: str = field(default_factory=lambda: datetime.now(UTC).isoformat(timespec="seconds"))

    def kept(self, machine: str, side: str | None) -> tuple[PainMark, ...]:
        """What folder and earlier file hold, history included."""
        marks = () if self.folder is None else self.folder.painful_on(machine, side)
        return _joined(marks, self._earlier(machine, side))

    def marks(
        self,
        machine: str,
        side: str | None,
        reported_rad: Sequence[Span] = (),
        travel: Travel | None = None,
        *,
        measured: bool = False,
    ) -> tuple[PainMark, ...]:
        """All marks, history included, with those around pain that was reported while recording.

        `travel` is that of the machine, as far as it is known; a part of it can be named when it is the `measured` one.

        Raises
        ------
        PainfulTravelError
            When a mark is to be removed that does not stand.
        """
        added = read_spans(self.added, "--painful", travel, measured=measured)
        kept = placed_marks(self.kept(machine, side), travel)
        kept = remove_marks(kept, self.removed_spans(travel, measured=measured), self.now)
        return add_marks(kept, (*added, *reported_rad), self.now, travel)

    def removed_spans(self, travel: Travel | None, *, measured: bool = False) -> tuple[Span, ...]:
        """Ranges whose marks are removed."""
        return read_spans(self.removed, "--no-longer-painful", travel, measured=measured)

    def _earlier(self, machine: str, side: str | None) -> tuple[PainMark, ...]:
        if self.earlier is None or not self.earlier.is_file():
            return ()
        try:
            curve, measured_on = capacity_from_json(self.earlier)
        except CapacityError:
            return ()
        same = measured_on == machine and (side is None or curve.side in (None, side))
        return curve.painful if same else ()


def _joined(first: Sequence[PainMark], second: Sequence[PainMark]) -> tuple[PainMark, ...]:
    """Both, each mark once."""
    found = list(first)
    for mark in second:
        same = [known for known in found if known.covers((mark.low_rad, mark.high_rad))]
        if mark.stands and any(known.stands for known in same):
            continue
        if not mark.stands and any(known.removed == mark.removed for known in same):
            continue
        found.append(mark)
    return tuple(found)


@dataclass(frozen=True)
class SessionPain:
    """A set beside the ranges marked painful, with those around pain reported in it.

    Attributes
    ----------
    travel : WorkingTravel or None
        Where the client is to work; None when nothing is left of the machine, or nothing hurts.
    painful_rad : tuple of (low_rad, high_rad)
    work : PainfulWork or None
        Repetitions that went into one of them.
    reported_rad : tuple of (low_rad, high_rad)
        Around pain reported in this set, which is marked nowhere else yet.
    along : Travel
        Of the machine, along which positions are given.
    """

    travel: WorkingTravel | None
    painful_rad: tuple[Span, ...]
    work: PainfulWork | None
    reported_rad: tuple[Span, ...] = ()
    along: Travel = field(kw_only=True)

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What goes with it."""
        return (Caution.PAINFUL_RANGE,) if self.painful_rad else ()

    def to_dict(self) -> dict[str, object]:
        """Plain values."""
        return {
            "painful": span_records(self.painful_rad, self.along),
            "pain_reported": span_records(self.reported_rad, self.along),
            "repetitions_in_painful_range": [] if self.work is None else list(self.work.numbers),
        }


def session_pain(
    session: PersonSession,
    marked_rad: Sequence[Span],
    profile: ProfileEstimate,
    *,
    capacity: CapacityCurve | None = None,
) -> SessionPain:
    """What of a set went where it hurts; a capacity says how far the next one may go."""
    known = None if capacity is None else (float(capacity.angle_rad[0]), float(capacity.angle_rad[-1]))
    spans = standing_spans(PainMark(*span) for span in (*marked_rad, *session.painful_rad))
    travel = None
    if spans:
        ends = float(profile.angle_rad[0]), float(profile.angle_rad[-1])
        with contextlib.suppress(PainfulTravelError, OverlapError):
            travel = working_travel(ends, painful_rad=spans, known_rad=known, along=profile.travel)
    marked = [PainMark(*span) for span in marked_rad]
    new = tuple(span for span in session.painful_rad if not any(mark.covers(span) for mark in marked))
    return SessionPain(travel, spans, session.motion.painful_work(spans), new, along=profile.travel)
