"""Where the smoother starts: knots, rests, and starting values from several biases, so that no rest is needed.

Lengths and steps of the search: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from feltload.core import Flags, Floats
from feltload.signal.hinge.data import HingeData
from feltload.signal.hinge.smoother.knots import KNOT_S, Knots
from feltload.signal.hinge.smoother.model import FUNCTIONS, GLOBALS, Equations
from feltload.signal.hinge.smoother.solver import SETTLED_RAD, Problem, Solution
from feltload.signal.noise.densities import InertialNoise

#: Length of the first stretch (a bias error turns it by less than a radian at the step below), and of records that
#: need none if the bias was seen at rest.
FIRST_S = 20.0
DIRECT_S = 150.0
BIAS_STEP_RAD_S = 0.03
BIAS_REACH = 9
#: Residuals this small leave no doubt about the start.
CLEAR_FIT_M_S2 = 0.05
#: How far the first stretch of a longer record is settled.
HEAD_SETTLED_RAD = 2e-3
#: Rate to which a rest is known to be a rest, rad/s.
REST_U_RAD_S = 3e-4


def make_knots(data: HingeData, still: Flags, sample_time_s: Floats, noise: InertialNoise) -> Knots:
    """Knots of the drift over a stretch, with the rests, breaks and holes that fall on them."""
    edges = [data.time_s[0], *(edge for hole in data.holes for edge in hole[:2]), data.time_s[-1]]
    fewest = 3 if len(edges) == 2 else 2
    parts = [
        np.linspace(start, stop, max(fewest, int(np.ceil((stop - start) / KNOT_S)) + 1))
        for start, stop in zip(edges[::2], edges[1::2], strict=True)
    ]
    starts = np.cumsum([0, *(len(part) for part in parts[:-1])])
    times = np.concatenate(parts)
    count = len(times)
    extra = np.zeros(count - 1)
    extra[starts[1:] - 1] = [u_rad for _, _, u_rad in data.holes]
    for start_s, stop_s, u_rad in data.breaks:
        middle = 0.5 * (start_s + stop_s)
        if times[0] <= middle <= times[-1]:
            first, last = (
                int(np.clip(np.searchsorted(times, t) - 1, 0, count - 2)) for t in (start_s, stop_s)
            )
            extra[first : last + 1] = np.hypot(extra[first : last + 1], u_rad / np.sqrt(last - first + 1))
    rate, u_rate = np.full(count, np.nan), np.full(count, np.nan)
    step = np.median(np.diff(sample_time_s))
    for first, part in zip(starts, parts, strict=True):
        apart, last = part[1] - part[0], len(part) - 1
        inside = still & (sample_time_s >= part[0]) & (sample_time_s <= part[-1])
        near = np.clip(np.rint((sample_time_s[inside] - part[0]) / apart).astype(int), 0, last)
        samples = np.bincount(near, minlength=len(part))
        total = np.bincount(near, weights=data.sample_rate[inside], minlength=len(part))
        enough = np.flatnonzero(samples * step > 0.5 * apart)
        rate[first + enough] = total[enough] / samples[enough]
        seconds = samples[enough] * step
        u_rate[first + enough] = np.hypot(noise.gyro_density_rad_s_rt_hz / np.sqrt(seconds), REST_U_RAD_S)
    return Knots(times, extra, rate, u_rate, tuple(starts.tolist()))


def first_solution(problem: Problem, *, settled_rad: float = SETTLED_RAD) -> Solution:
    """Solve from the bias seen at rest; without a clear fit, from the best of a ladder of biases too."""
    data = problem.equations.data
    span = data.time_s[-1] - data.time_s[0]
    if 1.5 * FIRST_S < span < DIRECT_S and len(problem.knots.still):
        # The bias read at rest carries this far; without a clear fit the start is looked for below.
        bias = -float(np.median(problem.knots.still_rate[problem.knots.still]))
        direct = _solutions(problem, np.array([bias]), settled_rad)[0]
        if direct.sigma < CLEAR_FIT_M_S2:
            return direct
    head = problem if span <= 1.5 * FIRST_S else _head(problem, _busiest_start(data))
    # A first stretch only has to come near; the whole record is settled afterwards.
    near_rad = settled_rad if head is problem else HEAD_SETTLED_RAD
    at_rest = head.knots.still_rate[head.knots.still]
    centre = -float(np.median(at_rest)) if len(at_rest) else 0.0
    tried = _solutions(head, np.array([centre]), near_rad) if len(at_rest) else []
    if not tried or tried[0].sigma >= CLEAR_FIT_M_S2:
        ladder = centre + BIAS_STEP_RAD_S * np.arange(-BIAS_REACH, BIAS_REACH + 1.0)
        tried += _solutions(head, ladder, near_rad)
    best = min(tried, key=lambda solution: solution.cost)
    if head is problem:
        return best
    drift, drift_rate = _follow(problem, head, best)
    return problem.solve(drift, drift_rate, best.unknown, settled_rad=settled_rad)


def _solutions(head: Problem, biases: Floats, settled_rad: float) -> list[Solution]:
    """Solutions from the best three of some biases, up to the first one that fits clearly."""
    unknowns, costs = _linear_starts(head, biases)
    since_s = head.knots.time_s - head.knots.time_s[0]
    tried: list[Solution] = []
    for choice in np.argsort(costs)[:3]:
        bias = float(biases[choice])
        rate = np.full(len(since_s), bias)
        tried.append(head.solve(bias * since_s, rate, unknowns[choice], settled_rad=settled_rad))
        if tried[-1].sigma < CLEAR_FIT_M_S2:
            break
    return tried


def _busiest_start(data: HingeData) -> int:
    """First index of the stretch in which the arm turns most."""
    width = int(FIRST_S * data.grid_hz)
    centred = data.rate - np.median(data.rate)
    power = np.concatenate([[0.0], np.cumsum(np.minimum(centred**2, 4.0))])
    window = power[width:] - power[:-width]
    # The earliest stretch that is nearly as busy as any: long records need not start in the middle.
    return int(np.argmax(window >= 0.7 * window.max()))


def _head(problem: Problem, start: int) -> Problem:
    data = problem.equations.data
    stop = min(len(data.time_s), start + int(FIRST_S * data.grid_hz) + 1)
    cut = slice(start, stop)
    part = replace(
        data,
        time_s=data.time_s[cut],
        rate=data.rate[cut],
        turned=data.turned[cut],
        slope=data.slope[cut],
        accel=data.accel[cut],
        valid=data.valid[cut],
    )
    old = problem.knots
    times = np.linspace(part.time_s[0], part.time_s[-1], max(3, int(np.ceil(FIRST_S / KNOT_S)) + 1))
    near = np.clip(np.searchsorted(old.time_s, times), 0, len(old.time_s) - 1)
    extra = old.extra_u_rad[np.clip(near[:-1], 0, len(old.extra_u_rad) - 1)]
    knots = Knots(times, extra, old.still_rate[near], old.still_u[near])
    return Problem(Equations.of(part), knots, problem.noise)


def _linear_starts(problem: Problem, biases: Floats) -> tuple[Floats, Floats]:
    """Global unknowns (b, 17) by linear least squares for each of b constant biases, and how badly they fit (b,)."""
    equations, data = problem.equations, problem.equations.data
    low = equations.functions(0.0, np.zeros(len(data.time_s)), np.zeros(len(data.time_s)))
    # A bias turns slowly against the low-pass, so it may turn what has passed.
    phase = biases[:, None] * (equations.time_s - data.time_s[0])
    cosine, sine = np.cos(phase), np.sin(phase)
    functions = np.empty((len(biases), FUNCTIONS, len(equations.time_s)))
    functions[:, 0], functions[:, 4] = 1.0, low[4]
    functions[:, 1], functions[:, 2] = low[1] * cosine - low[2] * sine, low[2] * cosine + low[1] * sine
    functions[:, 3] = low[3] + biases[:, None] * (2.0 * equations.reduce(data.rate) + biases[:, None])
    rows = problem.prior.at(np.zeros(GLOBALS))[0][:, :15]
    # An equation's residual at the start is model error, not noise: half a metre per second squared.
    sigma = 0.5
    fixed = sigma**2 * (rows.T @ rows + 1e-6 * np.eye(15))
    trusted = equations.trusted.astype(float)
    weight = np.tile(trusted, (len(biases), 1))
    unknowns = np.zeros((len(biases), GLOBALS))
    for _ in range(3):
        weighted = functions * weight[:, None]
        left = np.tile(fixed, (len(biases), 1, 1))
        gram = weighted @ functions.transpose(0, 2, 1)
        for component in range(3):
            left[:, component::3, component::3] += gram
        right = (weighted @ equations.measured).reshape(-1, 15, 1)
        unknowns[:, :15] = np.linalg.solve(left, right)[:, :, 0]
        fitted = functions.transpose(0, 2, 1) @ unknowns[:, :15].reshape(-1, FUNCTIONS, 3)
        spread = np.mean(((equations.measured - fitted) / sigma) ** 2, axis=2) / 4.0
        weight = trusted / (1.0 + spread)
    size = np.linalg.norm(unknowns[:, 3:6], axis=1)
    # Without gravity turning in the plane the fit says nothing; prefer starts that see it.
    return unknowns, np.log1p(spread) @ trusted / max(trusted.sum(), 1.0) - 1e-3 * size


def _follow(problem: Problem, head: Problem, found: Solution) -> tuple[Floats, Floats]:
    """Drift over the whole record from what the first stretch found: gravity's direction less the turning."""
    equations, data = problem.equations, problem.equations.data
    unknown = found.unknown
    coefficients = unknown[:15].reshape(FUNCTIONS, 3)
    scale = unknown[15]
    knots = problem.knots.time_s
    bias = float(np.median(found.drift_rate))
    size = np.linalg.norm(coefficients[1])
    middle = head.knots.time_s
    if size < 1.0:
        still = problem.knots.still_rate
        rests = np.isfinite(still)
        rate = np.interp(knots, knots[rests], -still[rests]) if np.any(rests) else np.full(len(knots), bias)
        drift = np.concatenate([[0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(knots))])
        return drift + float(np.interp(middle[0], knots, -drift)) + found.drift[0], rate
    functions = equations.functions(scale, np.zeros(len(data.time_s)), np.full(len(data.time_s), bias))
    rest = equations.measured - functions[[0, 3, 4]].T @ coefficients[[0, 3, 4]]
    phase = (rest @ coefficients[1] + 1j * (rest @ coefficients[2])) / size**2
    turned = (1.0 + scale) * equations.reduce(data.turned)
    expected = found.drift[0] + bias * (equations.time_s - middle[0])
    turn = phase * np.exp(-1j * (turned + expected)) * equations.trusted
    # Means over two seconds, then unwrapped: the bias can wander by a turn per window before this is lost.
    block = np.minimum(
        ((equations.time_s - equations.time_s[0]) / 2.0).astype(int), max(1, int(knots[-1] / 2.0))
    )
    count = int(block[-1]) + 1
    real = np.bincount(block, turn.real, count)
    imaginary = np.bincount(block, turn.imag, count)
    seen = np.hypot(real, imaginary) > 0.5
    when = np.bincount(block, equations.time_s, count)[seen] / np.bincount(block, minlength=count)[seen]
    wrapped = np.unwrap(np.arctan2(imaginary[seen], real[seen]))
    wrapped -= (
        2.0 * np.pi * np.round(float(np.interp(middle[len(middle) // 2], when, wrapped)) / (2.0 * np.pi))
    )
    drift = found.drift[0] + bias * (knots - middle[0]) + np.interp(knots, when, wrapped)
    return drift, np.full(len(knots), bias)
