"""Recordings of a machine with two arms to a result folder for each arm, and what differs between them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from feltload.app.live.outcomes.machine import write_measured
from feltload.app.live.outcomes.outcome import Outcome, OutcomeKind
from feltload.app.live.setup.folder import WorkingFolder
from feltload.core import Severity, write_file

if TYPE_CHECKING:
    from feltload.app.jobs.both_sides import ArmComparison
    from feltload.app.jobs.measuring.measurement import Measurement
    from feltload.app.pages.canvas import Drawing


def profile_arms(folder: WorkingFolder, recordings: Sequence[Path], name: str) -> Outcome:
    """Measure both arms of the machine of these recordings; takes some seconds.

    Raises
    ------
    FeltloadError
        One of them has no profile, or they have no load or travel in common.
    """
    # Slow to import, here and below, and only this needs them.
    from feltload.app.jobs.both_sides import compare_arms, measure_arms
    from feltload.app.jobs.measuring.measurement import measure
    from feltload.app.text.machine.arms import arm_name

    measured = measure_arms(
        partial(measure, recordings, both_sides=True), steps=0, advance=lambda _done: None
    )
    arms = tuple(
        replace(write_measured(folder, of_arm, f"{name}-{side}"), machine=arm_name(side))
        for side, of_arm in measured.items()
    )
    comparison = compare_arms(measured["left"].estimate, measured["right"].estimate)
    kept = folder.free_name(f"{name}-sides", ".json")
    write_file(kept, json.dumps(comparison.to_dict(), indent=1, allow_nan=False) + "\n")
    return _outcome(comparison, measured, arms, kept)


def _outcome(
    comparison: ArmComparison, measured: Mapping[str, Measurement], arms: tuple[Outcome, ...], kept: Path
) -> Outcome:
    from feltload.app.text.machine.arms import arms_key_figures, describe_arms, describe_arms_advice
    from feltload.signal import describe_shape

    profiles, travel = comparison.profiles, comparison.travel
    top = int(np.argmax(profiles.loads_kg))
    load_kg = float(profiles.loads_kg[top])
    lines = describe_arms(profiles, travel, comparison.repetitions)
    shapes = {side: describe_shape(arm.estimate, _load_index(arm, load_kg)) for side, arm in measured.items()}
    facts = [fact for arm in measured.values() for fact in arm.estimate.warnings]
    return Outcome(
        OutcomeKind.MACHINE,
        kept.name,
        comparison.machine,
        lines[top],
        arms_key_figures(profiles, top, shapes, travel),
        advice=(
            describe_arms_advice(
                differ=bool(profiles.established[top].any()),
                is_serious=any(fact.severity is Severity.SERIOUS for fact in facts),
            ),
        ),
        drawing=_drawing(comparison, measured, load_kg),
        findings=tuple(line for number, line in enumerate(lines) if number != top),
        doubts=tuple(f"{arm.machine}: {doubt}" for arm in arms for doubt in arm.doubts),
        cautions=arms[0].cautions,
        invented=any(arm.invented for arm in arms),
        sources=arms[0].sources,
        arms=arms,
    )


def _load_index(arm: Measurement, load_kg: float) -> int:
    return int(np.argmin(np.abs(arm.estimate.loads_kg - load_kg)))


def _drawing(comparison: ArmComparison, measured: Mapping[str, Measurement], load_kg: float) -> Drawing:
    """Both arms over one another, the right one minus the left one below."""
    from feltload.app.pages.axes import along_travel
    from feltload.app.pages.comparison.drawn import ComparedCurve, DifferenceCurve
    from feltload.app.pages.comparison.figures import comparison_figure
    from feltload.app.pages.comparison.quantity import force_quantity
    from feltload.app.text.machine.arms import arm_name
    from feltload.app.text.numbers import load_text

    profiles, travel = comparison.profiles, comparison.travel
    k = int(np.argmin(np.abs(profiles.loads_kg - load_kg)))
    curves = []
    for side, arm in measured.items():
        index = _load_index(arm, load_kg)
        x = along_travel(arm.estimate.angle_rad, travel)
        static_n, u95_n = arm.estimate.static_n[index], arm.estimate.static_u95_n[index]
        curves.append(ComparedCurve(arm_name(side), x, static_n, u95_n))
    x = along_travel(profiles.angle_rad, travel)
    gap = DifferenceCurve(arm_name("right"), x, -profiles.difference_n[k], profiles.curve_u95_n[k])
    return comparison_figure(
        curves,
        [gap],
        quantity=force_quantity(None),
        first=f"the {arm_name('left')}",
        lead=f"With {load_text(load_kg)}",
        by="travel",
    )
