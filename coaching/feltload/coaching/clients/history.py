"""A client's kept results held against each other."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.coaching.clients.folder import SessionRecord
from feltload.coaching.statistics.reliability import change_in_words, minimal_difference


def changes(sessions: Sequence[SessionRecord]) -> tuple[str, ...]:
    """Each force that was kept twice or more on the same machine and side: last against the one before.

    The noise of a change is the minimal difference of the two values' standard uncertainties.
    """
    lines = []
    series: dict[tuple[str, str, str | None, str], list[SessionRecord]] = {}
    for session in sessions:
        for name in session.values:
            if name.endswith("_n") and name in session.u95:
                series.setdefault((session.kind, session.machine, session.side, name), []).append(session)
    for (kind, machine, side, name), kept in series.items():
        if len(kept) < 2:
            continue
        before, after = kept[-2], kept[-1]
        u = np.sqrt(0.5 * ((before.u95[name] / 2) ** 2 + (after.u95[name] / 2) ** 2))
        what = f"{kind} {name.removesuffix('_n').replace('_', ' ')}, {machine}{f', {side}' if side else ''}"
        lines.append(
            f"{before.date[:10]} to {after.date[:10]}: "
            + change_in_words(
                before.values[name], after.values[name], minimal_difference(float(u)), what=what, unit="N"
            )
        )
    return tuple(lines)
