"""A record solved: its samples, what could not be placed among them, and the smoother's problem and solution."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from feltload.core import Flags
from feltload.signal.errors import MotionError
from feltload.signal.hinge.axis import still_samples
from feltload.signal.hinge.data import hinge_data
from feltload.signal.hinge.placing import placed_solution
from feltload.signal.hinge.samples import InertialSamples, longest_piece, without_fragments
from feltload.signal.hinge.smoother.initial_guess import make_knots
from feltload.signal.hinge.smoother.learning import learned_solution
from feltload.signal.hinge.smoother.model import SCALE, Equations
from feltload.signal.hinge.smoother.places import Places, rests_on_the_stop
from feltload.signal.hinge.smoother.solver import ROUGH_RAD, Problem, Solution
from feltload.signal.hinge.vertical import is_vertical, vertical_solution
from feltload.signal.noise.calibrated import calibrated_noise
from feltload.signal.noise.densities import InertialNoise, noise_from_data

if TYPE_CHECKING:
    from feltload.acquisition import InertialCertificate

Solved = tuple[Problem, Solution]


@dataclass(frozen=True)
class SolvedRecord:
    """What the smoother made of a record.

    Attributes
    ----------
    samples : InertialSamples
        Those that have their place; pieces left out after holes are gone.
    left_out_s : tuple of (start_s, stop_s)
        Spans of samples that were left out.
    recorded_s : float
        From the first sample to the last, those left out included.
    still : ndarray of bool, shape (n,)
        Where the arm rests; no rest reaches across a hole.
    problem : Problem
    found : Solution
    first : tuple of Problem and Solution
        Those with what is usual of the sensor: what the record then taught may hide what happened to it.
    """

    samples: InertialSamples
    left_out_s: tuple[tuple[float, float], ...]
    recorded_s: float
    still: Flags
    problem: Problem
    found: Solution
    first: Solved


def solve_record(
    samples: InertialSamples,
    noise: InertialNoise | None,
    certificate: InertialCertificate | None,
    rolling_m: float = 0.0,
) -> SolvedRecord:
    """Solve a record, again without the pieces between holes that turn out to have no place in it.

    `rolling_m` is the radius of a wheel that may roll, 0 for a fixed hinge.

    Raises
    ------
    MotionError
        When nothing moves, or no piece is long enough.
    """
    recorded_s = float(samples.time_s[-1] - samples.time_s[0])
    samples, left_out = without_fragments(samples)
    while True:
        (problem, found), first, placed = _solved(samples, noise, certificate, rolling_m)
        if all(placed):
            break
        if not any(placed):
            raise MotionError(
                f"none of {len(placed)} pieces of the inertial stream has its place: gravity does not tell them apart",
                remedy="check the sensor's link for holes and record again",
            )
        pieces = list(zip(samples.pieces, placed, strict=True))
        left_out += [samples.span_s(piece) for piece, kept in pieces if not kept]
        samples = samples.only([piece for piece, kept in pieces if kept])
    return SolvedRecord(samples, tuple(sorted(left_out)), recorded_s, _still(samples), problem, found, first)


def _solved(
    samples: InertialSamples,
    noise: InertialNoise | None,
    certificate: InertialCertificate | None,
    rolling_m: float,
) -> tuple[Solved, Solved, tuple[bool, ...]]:
    """The smoother's problem and solution, the same as they were before learning, and which pieces have a place."""
    data = hinge_data(samples, rolling_m=rolling_m)
    if noise is None:
        usual = InertialNoise() if certificate is None else calibrated_noise(certificate, data.axis)
        noise = noise_from_data(usual, samples.gyro, samples.accel, samples.rate_hz)
    else:
        usual = noise
    still = _still(samples)
    knots = make_knots(data, still, samples.time_s, noise)
    problem = Problem(Equations.of(data), knots, noise)
    found, placed = placed_solution(problem, settled_rad=ROUGH_RAD)
    first = (problem, found)
    if is_vertical(problem, found):
        if len(knots.pieces) > 1:
            # Nothing places the other pieces.
            kept = longest_piece(samples)
            return first, first, tuple(piece == kept for piece in samples.pieces)
        return vertical_solution(problem, samples, still, usual), first, placed
    problem = replace(problem, places=_stop(problem, found, samples, still))
    return learned_solution(problem, found, usual), first, placed


def _stop(problem: Problem, found: Solution, samples: InertialSamples, still: Flags) -> Places | None:
    """Rests on the stop; after a hole nothing but gravity says that it is the stop."""
    if len(problem.knots.pieces) > 1:
        return None
    data = problem.equations.data
    scale = 1.0 + found.unknown[SCALE]
    theta = scale * data.sample_turned + np.interp(samples.time_s, problem.knots.time_s, found.drift)
    return rests_on_the_stop(data, still, samples.time_s, theta)


def _still(samples: InertialSamples) -> Flags:
    still = still_samples(samples.gyro, samples.rate_hz) & ~samples.gyro_clipped
    # Where the arm rests on both sides of a hole, it need not be the same place.
    still[[piece.start for piece in samples.pieces[1:]]] = False
    return np.asarray(still)
