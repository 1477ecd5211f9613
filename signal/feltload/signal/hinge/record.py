"""A record solved: its samples, what could not be placed among them, and the smoother's problem and solution."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.acquisition import InertialCertificate
from feltload.core import Flags
from feltload.signal.hinge.axis import still_samples
from feltload.signal.hinge.data import hinge_data
from feltload.signal.hinge.placing import placed_solution
from feltload.signal.hinge.samples import InertialSamples, without_fragments
from feltload.signal.hinge.smoother.initial_guess import make_knots
from feltload.signal.hinge.smoother.model import Equations
from feltload.signal.hinge.smoother.solver import ROUGH_RAD, SETTLED_RAD, Problem, Solution
from feltload.signal.noise.calibrated import calibrated_noise
from feltload.signal.noise.densities import InertialNoise, noise_from_data


@dataclass(frozen=True)
class SolvedRecord:
    """What the smoother made of a record.

    Attributes
    ----------
    samples : InertialSamples
        Those that have their place; pieces left out after holes are gone.
    left_out_s : tuple of (start_s, stop_s)
        Spans of samples that were left out.
    still : ndarray of bool, shape (n,)
        Where the arm rests; no rest reaches across a hole.
    problem : Problem
    found : Solution
    """

    samples: InertialSamples
    left_out_s: tuple[tuple[float, float], ...]
    still: Flags
    problem: Problem
    found: Solution


def solve_record(
    samples: InertialSamples, noise: InertialNoise | None, certificate: InertialCertificate | None
) -> SolvedRecord:
    """Solve a record, again without the pieces between holes that turn out to have no place in it.

    Raises
    ------
    MotionError
        When nothing moves, or no piece is long enough.
    """
    samples, left_out = without_fragments(samples)
    while True:
        problem, found, placed = _solved(samples, noise, certificate)
        if all(placed):
            break
        pieces = list(zip(samples.pieces, placed, strict=True))
        left_out += [samples.span_s(piece) for piece, kept in pieces if not kept]
        samples = samples.only([piece for piece, kept in pieces if kept])
    return SolvedRecord(samples, tuple(sorted(left_out)), _still(samples), problem, found)


def _solved(
    samples: InertialSamples, noise: InertialNoise | None, certificate: InertialCertificate | None
) -> tuple[Problem, Solution, tuple[bool, ...]]:
    """The smoother's problem and solution, and which pieces between holes have a place in it."""
    data = hinge_data(samples)
    if noise is None:
        known = InertialNoise() if certificate is None else calibrated_noise(certificate, data.axis)
        noise = noise_from_data(known, samples.gyro, samples.accel, samples.rate_hz)
    knots = make_knots(data, _still(samples), samples.time_s, noise)
    problem = Problem(Equations.of(data), knots, noise)
    found, placed = placed_solution(problem, settled_rad=ROUGH_RAD if problem.learns else SETTLED_RAD)
    if problem.learns:
        problem = problem.learned(found)
        found = problem.solve(found.drift, found.drift_rate, found.unknown)
    return problem, found, placed


def _still(samples: InertialSamples) -> Flags:
    still = still_samples(samples.gyro, samples.rate_hz) & ~samples.gyro_clipped
    # Where the arm rests on both sides of a hole, it need not be the same place.
    still[[piece.start for piece in samples.pieces[1:]]] = False
    return np.asarray(still)
