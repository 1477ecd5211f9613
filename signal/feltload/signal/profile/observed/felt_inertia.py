"""Felt inertia by thirds of the travel, with its covariance: its course tells radii that no static force shows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Self

import numpy as np

from feltload.core import Floats
from feltload.signal.profile.uncertainty.bands import statistical_covariance, term_operator

if TYPE_CHECKING:
    from feltload.signal.alignment.lag import Lag
    from feltload.signal.alignment.solved import Solved
    from feltload.signal.session import Session

PARTS: Final = 3
_VALUE, _COVARIANCE = "inertia_thirds_n_per_rad_s2", "inertia_thirds_covariance"


@dataclass(frozen=True)
class FeltInertia:
    """Handle force per angular acceleration, averaged over each third of the profile's angles.

    Attributes
    ----------
    value_n_per_rad_s2 : ndarray, shape (m, 3)
        Of each load.
    covariance : ndarray, shape (m * 3, m * 3)
        Of the values, row-major, (N s²/rad)².
    """

    value_n_per_rad_s2: Floats
    covariance: Floats

    def arrays(self) -> dict[str, Floats]:
        """Arrays for the file of a profile."""
        return {_VALUE: self.value_n_per_rad_s2, _COVARIANCE: self.covariance}

    @classmethod
    def from_arrays(cls, store: Mapping[str, Floats]) -> Self | None:
        """Read back; None where the file has none."""
        return cls(store[_VALUE], store[_COVARIANCE]) if _VALUE in store else None


def by_thirds(values: Floats) -> Floats:
    """Means of the last axis (n,) over three equal parts of it, shape (..., 3)."""
    return np.stack([part.mean(axis=-1) for part in np.array_split(values, PARTS, axis=-1)], axis=-1)


def felt_inertia(
    solved: Solved, sessions: Sequence[Session], lags: Sequence[Lag], q_rad: Floats
) -> FeltInertia:
    """Felt inertia of every load over the covered travel `q_rad` (n,).

    Notes
    -----
    The cell's gain and the gyroscope's scale are common to all values; each session's lag goes through the same
    regression (GUM 5.1.3).
    """
    # The numbers are read from files without a fit.
    from feltload.signal.alignment.latency import gradient_n_s

    layout = solved.layout
    every = term_operator(layout, "inertia", q_rad).reshape(layout.loads_kg.size, q_rad.size, layout.size)
    operator = by_thirds(every.transpose(0, 2, 1)).transpose(0, 2, 1).reshape(-1, layout.size)
    value = operator @ solved.fit.smoothed.coefficients
    covariance, _ = statistical_covariance(solved, operator, angles=PARTS)
    common = [
        max(session.force_uncertainty.gain for session in sessions),
        max(rows.aligned.u_scale for rows in solved.sessions),
    ]
    parts = [share * value for share in common]
    for k, (rows, lag) in enumerate(zip(solved.sessions, lags, strict=True)):
        late = -gradient_n_s(rows, layout, solved.fit) * lag.u_s
        changes: list[Floats | float] = [late if i == k else 0.0 for i in range(len(sessions))]
        parts.append(operator @ solved.response(changes))
    covariance = covariance + sum(np.outer(part, part) for part in parts)
    return FeltInertia(value.reshape(-1, PARTS), np.asarray(covariance))
