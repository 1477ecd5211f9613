"""A client's kept results, each compared with the one before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from feltload.coaching.clients.folder import SessionRecord
from feltload.coaching.reliability.change import minimal_difference
from feltload.core import EXPANDED_COVERAGE_K


@dataclass(frozen=True)
class ValueChange:
    """One kept force against the same one before.

    Attributes
    ----------
    kind, machine : str
        Kind of the result, and the machine it was measured on.
    side : {"left", "right"} or None
    name : str
        Of the value, with its unit: "peak_n".
    before_date, after_date : str
        ISO 8601.
    before, after : float
        In the unit of `name`.
    minimal_difference : float
        Smallest change that is no measurement noise, in the same unit.
    """

    kind: str
    machine: str
    side: str | None
    name: str
    before_date: str
    after_date: str
    before: float
    after: float
    minimal_difference: float

    @property
    def change(self) -> float:
        """After minus before."""
        return self.after - self.before

    @property
    def beyond_noise(self) -> bool:
        """Whether the change is larger than measurement noise."""
        return abs(self.change) > self.minimal_difference


def latest_changes(sessions: Sequence[SessionRecord]) -> tuple[ValueChange, ...]:
    """Each force that was kept twice or more on the same machine and side: last against the one before.

    The noise of a change is the minimal difference of the two values' standard uncertainties.
    """
    series: dict[tuple[str, str, str | None, str], list[SessionRecord]] = {}
    for session in sessions:
        for name in session.values:
            if name.endswith("_n") and name in session.u95:
                series.setdefault((session.kind, session.machine, session.side, name), []).append(session)
    changes = []
    for (kind, machine, side, name), kept in series.items():
        if len(kept) < 2:
            continue
        before, after = kept[-2], kept[-1]
        u_before, u_after = (session.u95[name] / EXPANDED_COVERAGE_K for session in (before, after))
        changes.append(
            ValueChange(
                kind=kind,
                machine=machine,
                side=side,
                name=name,
                before_date=before.date,
                after_date=after.date,
                before=before.values[name],
                after=after.values[name],
                minimal_difference=minimal_difference(float(np.sqrt(0.5 * (u_before**2 + u_after**2)))),
            )
        )
    return tuple(changes)
