"""The line under the arrivals: one-way clock skew from stamps that can only be late, never early."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feltload.core import Floats

#: Blocks whose earliest arrivals tell how well the lower edge of the delays is defined.
EDGE_BLOCKS = 16
#: A line is drawn through longer records by blending lines over stretches this long, so that the skew may wander.
STRETCH_S = 120.0
#: A piece shorter than this, or with fewer arrivals, takes its skew from the other pieces.
SHORT_PIECE_S = 3.0
FEWEST_ARRIVALS = 12


@dataclass(frozen=True)
class Line:
    """``arrival = offset + slope * (counter - centre)``, the earliest possible arrival of a counter value.

    Attributes
    ----------
    centre : float
        Counter value about which the line is written.
    offset_s, slope : float
        Host seconds at the centre; host seconds per counter unit.
    u_offset_s, u_slope : float
        Standard uncertainties, from how sharply the earliest arrivals define the edge.
    """

    centre: float
    offset_s: float
    slope: float
    u_offset_s: float
    u_slope: float

    def at(self, counter: Floats) -> Floats:
        return self.offset_s + self.slope * (counter - self.centre)

    def u_at(self, counter: Floats) -> Floats:
        return np.hypot(self.u_offset_s, self.u_slope * (counter - self.centre))


def lower_line(counter: Floats, arrival_s: Floats, slope: float | None = None) -> Line:
    """The line below all arrivals whose sum of distances to them is smallest.

    Parameters
    ----------
    counter, arrival_s : ndarray, shape (n,)
        Counter rising; at least one.
    slope : float, optional
        Known slope; only the offset is fitted.

    Returns
    -------
    Line

    Notes
    -----
    The optimum of the linear programme ``min sum(y - a - b x), a + b x <= y`` is the edge of the lower convex
    hull that spans the mean of x. It is found as a bridge: the earliest arrivals on either side of the mean, seen
    along the present slope, give the next slope, until it stays.

    References
    ----------
    S. B. Moon, P. Skelly, D. Towsley, Estimation and removal of clock skew from network delay measurements,
    IEEE INFOCOM 1999.
    """
    centre = float(np.mean(counter))
    x = counter - centre
    base = float(arrival_s[0])
    y = arrival_s - base
    if slope is None:
        slope = bridge_slope(x, y)
    offset = float(np.min(y - slope * x))
    u_offset, u_slope = _edge_uncertainty(x, y - slope * x - offset)
    return Line(centre, base + offset, slope, u_offset, u_slope)


def bridge_slope(x: Floats, y: Floats) -> float:
    """Slope of the lower hull's edge across x = 0; x has values on both sides or on zero."""
    left, right = x <= 0.0, x > 0.0
    if not np.any(right):
        return 0.0
    x_left, y_left, x_right, y_right = x[left], y[left], x[right], y[right]
    slope = float((y_right[-1] - y_left[0]) / (x_right[-1] - x_left[0]))
    for _ in range(200):
        i = int(np.argmin(y_left - slope * x_left))
        j = int(np.argmin(y_right - slope * x_right))
        steeper = float((y_right[j] - y_left[i]) / (x_right[j] - x_left[i]))
        if steeper == slope:
            break
        slope = steeper
    return slope


def _edge_uncertainty(x: Floats, delay: Floats) -> tuple[float, float]:
    """How far the edge may be from the fitted line, from the earliest arrival of each of several blocks."""
    span = float(x[-1] - x[0])
    if span <= 0.0 or len(x) < FEWEST_ARRIVALS:
        spread = float(np.ptp(delay)) + 1e-9
        return spread, 1.0 if span <= 0.0 else spread * np.sqrt(12.0) / span
    count = int(np.clip(len(x) // 10, 2, EDGE_BLOCKS))
    block = np.minimum(((x - x[0]) / span * count).astype(int), count - 1)
    earliest = np.full(count, np.inf)
    np.minimum.at(earliest, block, delay)
    earliest = earliest[np.isfinite(earliest)]
    # Two of these are zero by construction; the root mean square of the rest is the edge's roughness.
    roughness = float(np.sqrt(np.sum(earliest**2) / max(len(earliest) - 2, 1)))
    u_offset = max(0.5 * roughness, 1e-9)
    return u_offset, u_offset * np.sqrt(12.0) / span


def tick_of(counter: Floats) -> float:
    """Step to which stamps are rounded, among decimal ones from 0.1 s to 0.1 ms; zero if finer."""
    sample = counter[: min(len(counter), 2000)]
    for tick in (0.1, 0.01, 0.001, 0.0001):
        in_ticks = sample / tick
        if np.all(np.abs(in_ticks - np.round(in_ticks)) < 1e-4):
            return tick
    return 0.0


@dataclass(frozen=True)
class Track:
    """Lines blended over a long piece; one line is a track too."""

    lines: tuple[Line, ...]

    def at(self, counter: Floats) -> tuple[Floats, Floats]:
        """Host seconds and standard uncertainty, each shape (n,), of counter values."""
        if len(self.lines) == 1:
            return self.lines[0].at(counter), self.lines[0].u_at(counter)
        centres = np.array([line.centre for line in self.lines])
        right = np.clip(np.searchsorted(centres, counter), 1, len(centres) - 1)
        share = np.clip((counter - centres[right - 1]) / (centres[right] - centres[right - 1]), 0.0, 1.0)
        left_time, right_time = self._each(right - 1, counter), self._each(right, counter)
        left_u, right_u = self._each_u(right - 1, counter), self._each_u(right, counter)
        # Neighbours share half their arrivals, and their difference shows wander that one line cannot follow.
        wander = np.abs(left_time - right_time) / np.sqrt(12.0)
        blend = left_time * (1.0 - share) + right_time * share
        return blend, np.hypot(left_u * (1.0 - share) + right_u * share, wander)

    def _each(self, row: NDArray[np.intp], counter: Floats) -> Floats:
        offset = np.array([line.offset_s for line in self.lines])[row]
        slope = np.array([line.slope for line in self.lines])[row]
        centre = np.array([line.centre for line in self.lines])[row]
        return np.asarray(offset + slope * (counter - centre))

    def _each_u(self, row: NDArray[np.intp], counter: Floats) -> Floats:
        u_offset = np.array([line.u_offset_s for line in self.lines])[row]
        u_slope = np.array([line.u_slope for line in self.lines])[row]
        centre = np.array([line.centre for line in self.lines])[row]
        return np.asarray(np.hypot(u_offset, u_slope * (counter - centre)))

    @property
    def slope(self) -> float:
        return float(np.mean([line.slope for line in self.lines]))

    @property
    def u_slope(self) -> float:
        return float(np.sqrt(np.mean([line.u_slope**2 for line in self.lines]) / len(self.lines)))


def fit_track(counter: Floats, arrival_s: Floats, slope: float | None = None) -> Track:
    """One line under a short piece, blended lines under a long one.

    Parameters
    ----------
    counter, arrival_s : ndarray, shape (n,)
    slope : float, optional
        Known slope, for pieces too short to show their own.

    Returns
    -------
    Track
    """
    span = float(arrival_s[-1] - arrival_s[0])
    if slope is not None or span < 1.5 * STRETCH_S:
        return Track((lower_line(counter, arrival_s, slope),))
    count = int(np.ceil(2.0 * span / STRETCH_S)) - 1
    edges = np.linspace(arrival_s[0], arrival_s[-1], count + 2)
    lines = []
    for start, stop in zip(edges[:-2], edges[2:], strict=True):
        first, last = np.searchsorted(arrival_s, (start, stop))
        if last - first >= FEWEST_ARRIVALS and arrival_s[last - 1] - arrival_s[first] > SHORT_PIECE_S:
            lines.append(lower_line(counter[first:last], arrival_s[first:last]))
    return Track(tuple(lines) or (lower_line(counter, arrival_s),))
