"""Where a client works on a machine: outside every painful range, and only where the capacity is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from feltload.coaching.cautions import Caution
from feltload.coaching.errors import OverlapError, PainfulTravelError
from feltload.coaching.pain.marks import Span, degree_of, free_pieces, touches
from feltload.coaching.pain.words import Words
from feltload.signal import Travel

SMALLEST_WORK = 10.0
"""Degrees of travel: less is no exercise, and no curve (our own convention)."""
NEAR_END_SHARE = 0.1
"""Part of the measured travel beside each end where nobody holds, since there a stop takes the force."""
NAMED = 1.0
"""Degrees of travel: less is not said to be unknown, for it is a step of the curves."""
REQUEST_SLACK = 2.0
"""Degrees of travel by which a wanted stop or start may leave what is known."""
CLOSE = 5.0
"""Degrees of travel: where capacity ends this near to what a painful range leaves, the stop goes there."""
ROUNDING_RAD = 1e-3
_CLINICIAN = "leave this machine out until a licensed clinician has seen to the pain"


@dataclass(frozen=True)
class WorkingTravel:
    """The part of a machine's measured travel that a client works in.

    Attributes
    ----------
    measured_rad : tuple of float
        Both ends of the machine's measured travel.
    work_rad : tuple of float
        Both ends of what everything is computed over.
    known_rad : tuple of float
        Both ends of what is known of the capacity.
    painful_rad : tuple of (low_rad, high_rad)
        Every range marked painful, also outside the measured travel.
    start_rad, stop_rad : float or None
        Where to start later, or turn earlier, to keep out of a painful range; None where none lies that way.
    unknown_rad : tuple of (low_rad, high_rad)
        Parts of the travel up to that start and stop at which the capacity was not measured.
    along : Travel, optional
        The machine's, by which messages name positions.
    """

    measured_rad: Span
    work_rad: Span
    known_rad: Span
    painful_rad: tuple[Span, ...]
    start_rad: float | None
    stop_rad: float | None
    unknown_rad: tuple[Span, ...]
    along: Travel | None = field(default=None, compare=False)

    @property
    def _degree(self) -> float:
        return degree_of(self.measured_rad)

    @property
    def keeps_out(self) -> bool:
        """Whether a start or stop is needed, since a painful range lies in the measured travel."""
        return self.start_rad is not None or self.stop_rad is not None

    @property
    def avoided_rad(self) -> tuple[Span, ...]:
        """The painful ranges within the measured travel."""
        return tuple(span for span in self.painful_rad if touches(span, self.measured_rad))

    @property
    def one_sided(self) -> bool:
        """Whether travel is left on the other side of a painful range, which is not used."""
        low, high = self.measured_rad
        pieces = free_pieces(low, high, self.painful_rad)
        return sum(piece[1] - piece[0] >= SMALLEST_WORK * self._degree for piece in pieces) > 1

    @property
    def gaps_rad(self) -> tuple[Span, ...]:
        """Unknown parts wider than what a stop takes at each end."""
        return tuple(span for span in self.unknown_rad if not self._is_an_end(span))

    @property
    def begin_rad(self) -> float | None:
        """Where each repetition is to start later than it could: pain, or unknown capacity, below."""
        low = self.work_rad[0]
        return low if self.start_rad is not None or any(gap[1] <= low for gap in self.gaps_rad) else None

    @property
    def turn_rad(self) -> float | None:
        """Where each repetition is to turn earlier than it could: pain, or unknown capacity, above."""
        high = self.work_rad[1]
        return high if self.stop_rad is not None or any(gap[0] >= high for gap in self.gaps_rad) else None

    @property
    def moved_rad(self) -> Span:
        """Both ends of each repetition: those of the measured travel, where nothing asks for a start or stop."""
        begin, turn = self.begin_rad, self.turn_rad
        return (
            self.measured_rad[0] if begin is None else begin,
            self.measured_rad[1] if turn is None else turn,
        )

    @property
    def whole(self) -> bool:
        """Whether the client works in the whole measured travel, and the capacity is known there."""
        return bool(np.allclose(self.work_rad, self.measured_rad, atol=NAMED * self._degree))

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What goes with working beside a painful range."""
        return (Caution.PAINFUL_RANGE,) if self.painful_rad else ()

    def with_ends(self, *, from_rad: float | None = None, to_rad: float | None = None) -> WorkingTravel:
        """The same person and machine with a wanted start or stop; see `working_travel`."""
        return working_travel(
            self.measured_rad,
            painful_rad=self.painful_rad,
            known_rad=self.known_rad,
            from_rad=from_rad,
            to_rad=to_rad,
            along=self.along,
        )

    def _is_an_end(self, span: Span) -> bool:
        low, high = self.measured_rad
        small = span[1] - span[0] <= NEAR_END_SHARE * (high - low)
        return small and bool(np.isclose(span[0], low) or np.isclose(span[1], high))


def working_travel(
    measured_rad: Span,
    *,
    painful_rad: Sequence[Span] = (),
    known_rad: Span | None = None,
    from_rad: float | None = None,
    to_rad: float | None = None,
    along: Travel | None = None,
) -> WorkingTravel:
    """Find where a client works: the piece with the most known travel outside every painful range.

    Parameters
    ----------
    measured_rad : tuple of float
        Both ends of the machine's measured travel.
    painful_rad : sequence of (low_rad, high_rad)
        Ranges marked painful.
    known_rad : tuple of float, optional
        Where the capacity is known; everywhere when left out.
    from_rad, to_rad : float, optional
        A start or a stop that the client shall have; they may choose another piece.
    along : Travel, optional
        The machine's, by which messages name positions; angles without it.

    Raises
    ------
    PainfulTravelError
        When the wanted start or stop has the client work in a painful range, or too little is left beside it.
    OverlapError
        When too little of it is known, or the wanted start or stop lies where the capacity is not.
    """
    low, high = measured_rad
    words, degree = Words(along), degree_of(measured_rad)
    known = measured_rad if known_rad is None else known_rad
    pieces = free_pieces(low, high, painful_rad)
    if not any(piece[1] - piece[0] >= SMALLEST_WORK * degree for piece in pieces):
        raise PainfulTravelError(
            f"less than {words.length(SMALLEST_WORK * degree)} of the measured travel ({words.span(low, high)}) is "
            f"left beside what is marked painful ({words.listed(painful_rad)})",
            remedy=_CLINICIAN,
        )
    default = max(pieces, key=lambda piece: (_shared(piece, known), piece[1] - piece[0]))
    piece = _wanted_piece(pieces, default, measured_rad, painful_rad, (from_rad, to_rad), words)
    span = (
        piece[0] if from_rad is None else max(piece[0], from_rad),
        piece[1] if to_rad is None else min(piece[1], to_rad),
    )
    work = (max(span[0], known[0]), min(span[1], known[1]))
    if work[1] - work[0] < SMALLEST_WORK * degree:
        raise _too_little(span, known, measured_rad, painful_rad, words)
    _require_known(measured_rad, known, from_rad, to_rad, words)
    start = None if np.isclose(piece[0], low) else _close(span[0], work[0], degree)
    stop = None if np.isclose(piece[1], high) else _close(span[1], work[1], degree)
    ends = (span[0] if start is None else start, span[1] if stop is None else stop)
    unknown = ((ends[0], work[0]), (work[1], ends[1]))
    return WorkingTravel(
        measured_rad=measured_rad,
        work_rad=work,
        known_rad=known,
        painful_rad=tuple(painful_rad),
        start_rad=start,
        stop_rad=stop,
        unknown_rad=tuple(part for part in unknown if part[1] - part[0] > NAMED * degree),
        along=along,
    )


def _shared(piece: Span, known: Span) -> float:
    return max(0.0, min(piece[1], known[1]) - max(piece[0], known[0]))


def _close(end_rad: float, known_rad: float, degree: float) -> float:
    return known_rad if abs(end_rad - known_rad) <= CLOSE * degree else end_rad


def _wanted_piece(
    pieces: Sequence[Span],
    default: Span,
    measured: Span,
    painful: Sequence[Span],
    wanted: tuple[float | None, float | None],
    words: Words,
) -> Span:
    """The piece that a wanted start and stop choose.

    One end alone chooses only a piece that it keeps the client in by itself: a stop below every painful range, a start
    above every one; otherwise it lies in the default piece.
    """
    (low, high), (start, stop) = measured, wanted
    _require_some_travel(measured, start, stop, words)
    ends = [end for end in (start, stop) if end is not None and low < end < high]
    allowed = list(pieces) if len(ends) == 2 else [default]
    if len(ends) == 1 and ends[0] == stop and pieces[0][0] <= low:
        allowed.append(pieces[0])
    if len(ends) == 1 and ends[0] == start and pieces[-1][1] >= high:
        allowed.append(pieces[-1])
    for piece in allowed:
        if all(piece[0] - ROUNDING_RAD <= end <= piece[1] + ROUNDING_RAD for end in ends):
            return piece
    raise PainfulTravelError(
        f"with {_ends_said(start, stop, words)} the client works in what is marked painful ({words.listed(painful)})",
        remedy=f"stay within {words.span(*default)}",
    )


def _require_some_travel(measured: Span, start: float | None, stop: float | None, words: Words) -> None:
    where = None
    if stop is not None and stop <= measured[0]:
        where = f"before {words.at(stop)}"
    elif start is not None and start >= measured[1]:
        where = f"after {words.at(start)}"
    elif start is not None and stop is not None and start >= stop:
        where = f"after {words.at(start)} and before {words.at(stop)}"
    if where is not None:
        raise OverlapError(
            f"nothing of the travel lies {where}", remedy=f"choose within {words.span(*measured)}"
        )


def _ends_said(start: float | None, stop: float | None, words: Words) -> str:
    ends = [] if start is None else [f"a start at {words.at(start)}"]
    return " and ".join(ends if stop is None else [*ends, f"a stop at {words.at(stop)}"])


def _require_known(
    measured: Span, known: Span, start: float | None, stop: float | None, words: Words
) -> None:
    """Refuse a wanted end where the capacity is not known, beyond what nobody holds at."""
    near, slack = NEAR_END_SHARE * (measured[1] - measured[0]), REQUEST_SLACK * degree_of(measured)
    beyond = None
    if stop is not None and stop < measured[1] and known[1] < measured[1] - near:
        beyond = (known[1], stop) if stop > known[1] + slack else None
    if beyond is None and start is not None and start > measured[0] and known[0] > measured[0] + near:
        beyond = (start, known[0]) if start < known[0] - slack else None
    if beyond is not None:
        raise OverlapError(
            f"from {words.span(*beyond)} the capacity was not measured, so what it asks there cannot be determined",
            remedy=f"stay within {words.span(*known)}, or measure there, unless it hurts: feltload client positions",
        )


def _too_little(
    span: Span, known: Span, measured: Span, painful: Sequence[Span], words: Words
) -> OverlapError:
    least = words.length(SMALLEST_WORK * degree_of(measured))
    if painful:
        return OverlapError(
            f"outside what is marked painful ({words.listed(painful)}) less than {least} of travel is left at which "
            f"the capacity is known ({words.span(*known)})",
            remedy="hold at positions that do not hurt: feltload client positions, or leave this machine out",
        )
    if span != measured:
        return OverlapError(
            f"less than {least} of known travel is left between {words.span(*span)}",
            remedy=f"stay within {words.span(*known)}",
        )
    return OverlapError(
        f"the profile covers {words.span(*measured)}, the capacity {words.span(*known)}: less than {least} in common",
        remedy="measure the capacity on this machine, over the range that the client uses",
    )
