"""Where the pieces of a record with holes lie: their angle by gravity, their branch by the travel of the others.

Thresholds: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from feltload.core import Floats
from feltload.signal.errors import MotionError
from feltload.signal.hinge.data import HingeData
from feltload.signal.hinge.holes import CARRIED_U_RAD
from feltload.signal.hinge.smoother.initial_guess import first_solution
from feltload.signal.hinge.smoother.knots import Knots
from feltload.signal.hinge.smoother.model import FUNCTIONS, SCALE, Equations
from feltload.signal.hinge.smoother.normal import drift_variance
from feltload.signal.hinge.smoother.solver import SETTLED_RAD, Problem, Solution

#: The busiest piece must last this long for a first solution.
SHORTEST_MAIN_S = 3.0
#: Gravity in the plane below this places no piece.
LEAST_GRAVITY_M_S2 = 1.0
#: Mean of a piece's unit vectors towards gravity below which they do not agree.
LEAST_COHERENCE = 0.5
#: All pieces together turn less than this, or their branches cannot be distinguished.
WIDEST_TRAVEL_RAD = np.radians(300.0)
#: The next best branch must widen the travel by this much more.
CLEARLY_WIDER_RAD = np.radians(60.0)
#: A placed piece's angle is known at least this well, or a few times as well as that of the piece that is known best.
PLACED_U_RAD = np.radians(0.3)


def placed_solution(
    problem: Problem, *, settled_rad: float = SETTLED_RAD
) -> tuple[Solution, tuple[bool, ...]]:
    """Solution of a record, and which of its pieces have their place in it.

    The piece in which the arm turns most is solved by itself. Every other one is turned until gravity points the same
    way in it, by whole turns until the travel of all is the narrowest; then all are solved together.

    Returns
    -------
    Solution
    tuple of bool
        Per piece. The angle of one that has no place means nothing.

    Raises
    ------
    MotionError
        When no piece is long enough to start from.
    """
    pieces = problem.knots.pieces
    if len(pieces) == 1:
        return first_solution(problem, settled_rad=settled_rad), (True,)
    main = _busiest(problem)
    found = first_solution(_piece(problem, main))
    drift, certain = _placed(problem, main, found)
    rate = np.full(len(drift), float(np.median(found.drift_rate)))
    rate[pieces[main]] = found.drift_rate
    unknown = _turned_back(found.unknown, float(drift[0]))
    solution = problem.solve(drift - drift[0], rate, unknown, settled_rad=settled_rad)
    return solution, tuple(np.logical_and(certain, known_pieces(problem, solution)).tolist())


def _turned_back(unknown: Floats, by_rad: float) -> Floats:
    """The global unknowns if the drift counts from a zero that lies so much further: the first knot's is zero."""
    out = unknown.copy()
    a, b = unknown[3:6], unknown[6:9]
    out[3:6], out[6:9] = a * np.cos(by_rad) + b * np.sin(by_rad), b * np.cos(by_rad) - a * np.sin(by_rad)
    return out


def known_pieces(problem: Problem, found: Solution) -> list[bool]:
    """Pieces of which the angle is known well enough beside the best one."""
    own = np.sqrt(np.maximum(drift_variance(found.normal), 0.0))
    sizes = [float(np.median(own[piece])) for piece in problem.knots.pieces]
    limit = max(PLACED_U_RAD, 3.0 * min(sizes))
    return [size <= limit for size in sizes]


def _grid_pieces(data: HingeData, knots: Knots) -> list[slice]:
    """Rows of the working grid in each piece."""
    out = []
    for piece in knots.pieces:
        first, last = knots.time_s[piece][[0, -1]]
        out.append(slice(*np.searchsorted(data.time_s, [first - 1e-9, last + 1e-9]).tolist()))
    return out


def _busiest(problem: Problem) -> int:
    data = problem.equations.data
    power = np.minimum((data.rate - np.median(data.rate)) ** 2, 4.0)
    rows = _grid_pieces(data, problem.knots)
    total = [float(np.sum(power[row])) if _length_s(data, row) >= SHORTEST_MAIN_S else -1.0 for row in rows]
    if max(total) < 0.0:
        raise MotionError(
            f"the inertial stream is broken into {len(rows)} pieces, none of {SHORTEST_MAIN_S:g} s",
            remedy="check the sensor's cable or battery and record again",
        )
    return int(np.argmax(total))


def _length_s(data: HingeData, row: slice) -> float:
    return float((row.stop - row.start) / data.grid_hz)


def _piece(problem: Problem, number: int) -> Problem:
    """One piece as a problem of its own."""
    data, knots = problem.equations.data, problem.knots
    row, own = _grid_pieces(data, knots)[number], knots.pieces[number]
    part = replace(
        data,
        time_s=data.time_s[row],
        rate=data.rate[row],
        turned=data.turned[row],
        slope=data.slope[row],
        accel=data.accel[row],
        valid=data.valid[row],
        holes=(),
    )
    alone = Knots(
        knots.time_s[own],
        knots.extra_u_rad[own.start : own.stop - 1],
        knots.still_rate[own],
        knots.still_u[own],
    )
    return Problem(Equations.of(part), alone, problem.noise)


def _placed(problem: Problem, main: int, found: Solution) -> tuple[Floats, list[bool]]:
    """Drift at all knots that puts every piece in its place, and which pieces' places are certain."""
    data, knots, pieces = problem.equations.data, problem.knots, problem.knots.pieces
    rows = _grid_pieces(data, knots)
    scale, bias = 1.0 + float(found.unknown[SCALE]), float(np.median(found.drift_rate))
    drift = np.zeros(len(knots.time_s))
    drift[pieces[main]] = found.drift
    towards = _towards_gravity(problem, found)
    size = float(np.linalg.norm(found.unknown[3:6]))
    certain = [number == main for number in range(len(pieces))]
    theta = scale * data.turned[rows[main]] + np.interp(data.time_s[rows[main]], knots.time_s, drift)
    low, high = float(np.min(theta)), float(np.max(theta))
    # Outwards from the busiest piece, so that what the rates carry over a short hole can be used.
    for number in [*range(main + 1, len(pieces)), *range(main - 1, -1, -1)]:
        piece, row = pieces[number], rows[number]
        since = knots.time_s[piece] - knots.time_s[piece.start]
        late = data.time_s[row] - knots.time_s[piece.start]
        if number > main:
            before = pieces[number - 1].stop - 1
            carried = drift[before] + bias * (knots.time_s[piece.start] - knots.time_s[before])
            tied = certain[number - 1] and knots.extra_u_rad[before] <= CARRIED_U_RAD
        else:
            after = pieces[number + 1].start
            carried = drift[after] - bias * (knots.time_s[after] - knots.time_s[piece.start])
            tied = certain[number + 1] and knots.extra_u_rad[after - 1] <= CARRIED_U_RAD
        inside = (problem.equations.time_s >= knots.time_s[piece.start]) & (
            problem.equations.time_s <= knots.time_s[piece.stop - 1]
        )
        turning = np.exp(-1j * bias * (problem.equations.time_s[inside] - knots.time_s[piece.start]))
        seen = np.sum(towards[inside] * turning)
        count = int(np.count_nonzero(problem.equations.trusted[inside]))
        points = size >= LEAST_GRAVITY_M_S2 and count > 0 and abs(seen) > LEAST_COHERENCE * count
        offset = float(np.angle(seen)) if points else carried
        if tied:
            offset += 2.0 * np.pi * round((carried - offset) / (2.0 * np.pi))
            certain[number] = True
        elif points:
            own = scale * data.turned[row] + bias * late
            own_low, own_high = float(np.min(own)) + offset, float(np.max(own)) + offset
            middle = round((low + high - own_low - own_high) / (4.0 * np.pi))
            turns = 2.0 * np.pi * np.arange(middle - 1, middle + 2)
            widths = np.maximum(high, own_high + turns) - np.minimum(low, own_low + turns)
            order = np.argsort(widths)
            offset += float(turns[order[0]])
            certain[number] = bool(
                widths[order[0]] < WIDEST_TRAVEL_RAD
                and widths[order[1]] > widths[order[0]] + CLEARLY_WIDER_RAD
            )
        drift[piece] = offset + bias * since
        if certain[number]:
            own = scale * data.turned[row] + np.interp(data.time_s[row], knots.time_s[piece], drift[piece])
            low, high = min(low, float(np.min(own))), max(high, float(np.max(own)))
    return drift, certain


def _towards_gravity(problem: Problem, found: Solution) -> Floats:
    """Unit vectors of the turn that is left between gravity's direction and the integrated rate, shape (e,)."""
    equations, data = problem.equations, problem.equations.data
    unknown = found.unknown
    coefficients = unknown[:15].reshape(FUNCTIONS, 3)
    scale, bias = unknown[SCALE], float(np.median(found.drift_rate))
    functions = equations.functions(scale, np.zeros(len(data.time_s)), np.full(len(data.time_s), bias))
    rest = equations.measured - functions[[0, 3, 4]].T @ coefficients[[0, 3, 4]]
    phase = rest @ coefficients[1] + 1j * (rest @ coefficients[2])
    turned = np.interp(equations.time_s, data.time_s, (1.0 + scale) * data.turned)
    turn = phase * np.exp(-1j * turned)
    return np.asarray(np.where(equations.trusted, turn / np.maximum(np.abs(turn), 1e-9), 0.0))
