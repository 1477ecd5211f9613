"""Lags and fit of a machine that gives: solved for the arm behind the joint, without what the handle did not feel."""

from __future__ import annotations

from collections.abc import Sequence

from feltload.core import NORMAL_COVERAGE_95, Fact, Figure, Severity
from feltload.signal.alignment.lag import Lag, LagReading
from feltload.signal.alignment.solved import Solved
from feltload.signal.alignment.solver import Spacing, solve
from feltload.signal.compliance.facts import ComplianceFact
from feltload.signal.compliance.joint import Joint, behind_joint, find_joint
from feltload.signal.movement.travel import HandleTravel

ROUNDS = 2


def solve_behind(
    solved: Solved,
    lags: list[Lag],
    readings: Sequence[Sequence[LagReading]],
    spacing: Spacing | None = None,
    travel: HandleTravel | None = None,
) -> tuple[Solved, list[Lag], list[Fact]]:
    """The fit of a machine that gives, with what was found; a rigid machine's as it was.

    Parameters
    ----------
    solved : Solved
        All sessions as if the machine were rigid.
    lags : list of Lag
    readings, spacing, travel
        As for `solve`.
    """
    measured = solved.sessions
    joint = find_joint(solved, lags)
    if not joint.gives:
        return solved, lags, []
    for _ in range(ROUNDS):
        moved = [
            behind_joint(rows, solved, joint, number, lag.value_s)
            for number, (rows, lag) in enumerate(zip(measured, lags, strict=True))
        ]
        solved, lags = solve(moved, readings, spacing, travel)
    return solved, lags, joint_facts(joint, travel)


def joint_facts(joint: Joint, travel: HandleTravel | None) -> list[Fact]:
    """What a joint is, as a person would look for it."""
    facts: list[Fact] = []
    place = "before" if joint.before else "past"
    if joint.gap_rad and joint.line is not None:
        figures: dict[str, Figure] = {
            "place": place,
            "play_rad": joint.gap_rad,
            "u95_rad": NORMAL_COVERAGE_95 * joint.line.u_gap_rad,
            "count": joint.line.contacts,
        }
        if travel is not None:
            figures["handle_m"] = joint.gap_rad * abs(float(travel.travel_m[0]))
        facts.append(Fact(ComplianceFact.PLAY, Severity.CAUTION, figures=figures))
    if joint.mode is not None:
        figures = {
            "place": place,
            "frequency_hz": joint.mode.frequency_hz,
            "u95_hz": NORMAL_COVERAGE_95 * joint.mode.u_frequency_hz,
            "damping": joint.mode.damping,
            "u95_damping": NORMAL_COVERAGE_95 * joint.mode.u_damping,
            "wind_up_rad": joint.most_wind_up_rad,
            "count": joint.mode.bursts,
        }
        facts.append(Fact(ComplianceFact.FLEX, Severity.NOTE, figures=figures))
    return facts
