"""Arrays: names of their types, and small operations that several layers need."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

if TYPE_CHECKING:
    from scipy import sparse

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Indices = NDArray[np.int64]
Bytes = NDArray[np.uint8]


def runs_of_true(mask: ArrayLike) -> list[tuple[int, int]]:
    """Every run of true values as ``(first, stop)``: ``mask[first:stop]`` is true throughout.

    Parameters
    ----------
    mask : array_like of bool, shape (n,)
    """
    steps = np.diff(np.asarray(mask, dtype=np.int8), prepend=0, append=0)
    edges = np.flatnonzero(steps).tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))


def interpolation_weights(knots: Floats, at: Floats) -> sparse.csr_array[Any, tuple[int, int]]:
    """Matrix of linear interpolation: ``weights @ values`` are the values at `at`; beyond the ends, the end values.

    Parameters
    ----------
    knots : ndarray, shape (n,), n >= 2
        Ascending places of the values.
    at : ndarray, shape (k,)

    Returns
    -------
    csr_array, shape (k, n)
        Two stored entries a row, zeros among them: a value that is not known makes unknown what lies next to it.
    """
    # Slow to import, and most who import this module do not interpolate.
    from scipy import sparse

    right = np.clip(np.searchsorted(knots, at, side="right"), 1, knots.size - 1)
    share = np.clip((at - knots[right - 1]) / (knots[right] - knots[right - 1]), 0.0, 1.0)
    rows = np.tile(np.arange(at.size), 2)
    entries = (np.concatenate([1.0 - share, share]), (rows, np.concatenate([right - 1, right])))
    return sparse.csr_array(entries, shape=(at.size, knots.size))


def covariance_root(covariance: Floats) -> Floats:
    """A root R of a covariance, ``R @ R.T == covariance``; what rounding made negative counts as zero.

    Draws with this covariance are ``generator.standard_normal((count, n)) @ R.T``.

    Parameters
    ----------
    covariance : ndarray, shape (n, n)
        Symmetric, positive semidefinite within rounding.
    """
    values, vectors = np.linalg.eigh(covariance)
    return np.asarray(vectors * np.sqrt(np.clip(values, 0.0, None)))
