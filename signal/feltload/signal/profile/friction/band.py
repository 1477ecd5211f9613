"""How well friction is known along the travel."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Self

import numpy as np

from feltload.core import Floats


@dataclass(frozen=True)
class FrictionBand:
    """Uncertainty of the friction of m loads on n angles.

    Attributes
    ----------
    covariance_n2 : ndarray, shape (m * n, m * n)
        Row-major over load and angle.
    u95_n : ndarray, shape (m, n)
        Half-width of its 95 % band, pointwise (Student's factor at the effective degrees of freedom).
    """

    covariance_n2: Floats
    u95_n: Floats

    def arrays(self) -> dict[str, Floats]:
        """What is kept of it, by name."""
        return {"friction_covariance_n2": self.covariance_n2, "friction_u95_n": self.u95_n}

    @classmethod
    def from_arrays(cls, store: Mapping[str, Floats]) -> Self | None:
        """Read back; None from results of formats 1 to 3, which kept none."""
        if "friction_covariance_n2" not in store:
            return None
        return cls(store["friction_covariance_n2"], store["friction_u95_n"])

    @property
    def u_n(self) -> Floats:
        """Standard uncertainty, shape (m, n)."""
        return np.sqrt(np.maximum(np.diag(self.covariance_n2), 0.0)).reshape(self.u95_n.shape)

    @property
    def coverage(self) -> float:
        """Half-width over standard uncertainty, typically."""
        u = self.u_n
        return float(np.median(self.u95_n[u > 0] / u[u > 0])) if np.any(u > 0) else 1.96

    def of_load(self, index: int) -> Floats:
        """Covariance of one load's friction, shape (n, n)."""
        n = self.u95_n.shape[1]
        part = slice(index * n, (index + 1) * n)
        return self.covariance_n2[part, part]

    def combined(self, weights: Floats) -> Floats:
        """Covariance of a weighted sum over the loads, shape (n, n); `weights` has shape (m,)."""
        m, n = self.u95_n.shape
        blocks = self.covariance_n2.reshape(m, n, m, n)
        return np.asarray(np.einsum("i,iajb,j->ab", weights, blocks, weights))
