"""Normal equations banded in the knots and bordered by a few global unknowns: solved and inverted in linear time."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.linalg import cho_solve_banded, cholesky_banded

from feltload.core import Floats
from feltload.signal.errors import MotionError


@dataclass(frozen=True)
class Normal:
    """Bordered normal equations: `banded` (4, 2k) upper, `border` (2k, 17), `corner` (17, 17)."""

    banded: Floats
    border: Floats
    corner: Floats
    right: Floats
    right_corner: Floats

    @classmethod
    def of(
        cls,
        diagonal: Floats,
        beside: Floats,
        border: Floats,
        corner: Floats,
        right: Floats,
        right_corner: Floats,
    ) -> Normal:
        """From blocks: diagonal (k, 2, 2), beside it (k - 1, 2, 2), border (k, 2, 17), right-hand side (k, 2)."""
        count = len(diagonal)
        banded = np.zeros((4, 2 * count))
        banded[3, ::2], banded[3, 1::2] = diagonal[:, 0, 0], diagonal[:, 1, 1]
        banded[2, 1::2], banded[2, 2::2] = diagonal[:, 0, 1], beside[:, 1, 0]
        banded[1, 2::2], banded[1, 3::2] = beside[:, 0, 0], beside[:, 1, 1]
        banded[0, 3::2] = beside[:, 0, 1]
        return cls(banded, border.reshape(2 * count, -1), corner, right.ravel(), right_corner)

    @cached_property
    def _factor(self) -> Floats:
        return np.asarray(cholesky_banded(self.banded))

    def band_solve(self, right: Floats) -> Floats:
        """Solution of the banded part alone."""
        return np.asarray(cho_solve_banded((self._factor, False), right))

    @cached_property
    def _solved(self) -> tuple[Floats, Floats, Floats]:
        """Border and right-hand side solved by the band, and the inverse of the Schur complement."""
        try:
            both = self.band_solve(np.column_stack([self.border, self.right]))
            solved, plain = both[:, :-1], both[:, -1]
            schur = self.corner - self.border.T @ solved
            # Unknowns differ in scale by powers of ten: balance before inverting.
            size = np.sqrt(np.abs(np.diag(schur)))
            inverse = np.linalg.inv(schur / np.outer(size, size)) / np.outer(size, size)
        except np.linalg.LinAlgError:
            raise MotionError(
                "the inertial data do not determine the angle of one turning part",
                remedy="check times, axes and units of the inertial sensor",
            ) from None
        return solved, plain, inverse

    @property
    def border_solved(self) -> Floats:
        """The border solved by the band, shape (2k, 17)."""
        return self._solved[0]

    @property
    def inverse(self) -> Floats:
        """Covariance of the global unknowns, shape (17, 17)."""
        return self._solved[2]

    def solve(self) -> tuple[Floats, Floats]:
        """Steps of the knots (2k,) and of the global unknowns (17,)."""
        solved, plain, inverse = self._solved
        corner = inverse @ (self.right_corner - self.border.T @ plain)
        return plain - solved @ corner, corner


def knot_covariance(normal: Normal) -> Floats:
    """Diagonal 2 x 2 blocks of the inverse of the band, shape (k, 2, 2), by a forward and a backward sweep."""
    banded = normal.banded
    # Plain numbers: blocks this small are dominated by the cost of array calls.
    first, second = banded[3, ::2].tolist(), banded[3, 1::2].tolist()
    across = banded[2, 1::2].tolist()
    beside = list(
        zip(
            banded[1, 2::2].tolist(),
            banded[0, 3::2].tolist(),
            banded[2, 2::2].tolist(),
            banded[1, 3::2].tolist(),
            strict=True,
        )
    )
    inverses, gains = [], []
    p, q, r = first[0], across[0], second[0]
    for k, (b00, b01, b10, b11) in enumerate(beside):
        size = p * r - q * q
        i, j, m = r / size, -q / size, p / size
        g00, g01, g10, g11 = i * b00 + j * b10, i * b01 + j * b11, j * b00 + m * b10, j * b01 + m * b11
        inverses.append((i, j, m))
        gains.append((g00, g01, g10, g11))
        p = first[k + 1] - (b00 * g00 + b10 * g10)
        q = across[k + 1] - (b00 * g01 + b10 * g11)
        r = second[k + 1] - (b01 * g01 + b11 * g11)
    size = p * r - q * q
    i, j, m = r / size, -q / size, p / size
    out = [(i, j, m)]
    for (i0, j0, m0), (g00, g01, g10, g11) in zip(reversed(inverses), reversed(gains), strict=True):
        u00, u01, u10, u11 = g00 * i + g01 * j, g00 * j + g01 * m, g10 * i + g11 * j, g10 * j + g11 * m
        i, j, m = i0 + u00 * g00 + u01 * g01, j0 + u00 * g10 + u01 * g11, m0 + u10 * g10 + u11 * g11
        out.append((i, j, m))
    i, j, m = np.array(out[::-1]).T
    return np.stack([np.stack([i, j], axis=1), np.stack([j, m], axis=1)], axis=1)
