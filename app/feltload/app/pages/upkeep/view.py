"""What the page of a machine over time says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from feltload.app.jobs.upkeep.entries import KeptFriction
from feltload.app.jobs.upkeep.health import ArmHealth, MachineHealth
from feltload.app.pages.canvas import Drawing
from feltload.app.pages.upkeep.figures import (
    LoggedPoint,
    NamedChange,
    NamedCurve,
    friction_figure,
    log_figure,
)
from feltload.app.text.cautions import BEFORE_USING_THE_RESULT
from feltload.app.text.numbers import load_text
from feltload.app.text.upkeep.health import (
    DEFER,
    describe_arm,
    describe_log,
    describe_sides,
)
from feltload.app.text.upkeep.next_looks import describe_next

MOST_LOADS = 3
"""Loads with a figure of their own: the heaviest of them."""


@dataclass(frozen=True)
class ArmSection:
    """One arm, or the machine: sentences and figures."""

    key: str
    title: str
    sentences: tuple[str, ...]
    figures: tuple[Drawing, ...]


@dataclass(frozen=True)
class HealthView:
    """The whole page, top to bottom."""

    machine: str
    measured: str
    invented: bool
    remarks: tuple[str, ...]
    next: tuple[str, ...]
    arms: tuple[ArmSection, ...]
    sides: tuple[str, ...]
    defer: str
    cautions: tuple[str, ...]


def build_health(health: MachineHealth) -> HealthView:
    """Put a machine's state into words and figures."""
    return HealthView(
        machine=health.machine,
        measured=health.arms[0].entry.measured[:10],
        invented=any(arm.invented for arm in health.arms),
        remarks=tuple(describe_log(health)),
        next=tuple(describe_next(health)),
        arms=tuple(_section(arm) for arm in health.arms),
        sides=tuple(describe_sides(health)),
        defer=DEFER,
        cautions=BEFORE_USING_THE_RESULT,
    )


def _section(arm: ArmHealth) -> ArmSection:
    side = arm.entry.side
    figures = [_friction(arm, kept.load_kg) for kept in _heaviest(arm)]
    logged = log_figure(_points(arm), key=f"log-{side or 'machine'}")
    return ArmSection(
        key=side or "machine",
        title="Figures and changes" if side is None else f"{side.capitalize()} arm",
        sentences=tuple(describe_arm(arm)),
        figures=(*figures, *([logged] if logged else [])),
    )


def _heaviest(arm: ArmHealth) -> Sequence[KeptFriction]:
    return sorted(arm.entry.friction, key=lambda kept: -kept.load_kg)[:MOST_LOADS]


def _friction(arm: ArmHealth, load_kg: float) -> Drawing:
    travel, start = arm.estimate.travel, arm.estimate.start_angle_rad
    low, high = travel.ends_rad

    curves, changes = [], []
    now = arm.entry.curve(load_kg)
    if now is not None:
        curves.append(NamedCurve("now", replace(now, angle_rad=now.angle_rad + start)))
    for since in arm.since:
        day = since.entry.measured[:10]
        kept = since.entry.curve(load_kg)
        if kept is not None:
            moved = replace(kept, angle_rad=kept.angle_rad + start)
            # What was measured beyond the travel of now has no place on its axis.
            inside = np.unique(np.clip(moved.angle_rad, low, high))
            curves.append(NamedCurve(day, moved.at(inside)))
        changes += [
            NamedChange(day, replace(change.curve, angle_rad=change.curve.angle_rad + start))
            for change in since.changes
            if change.curve is not None and change.now.load_kg == load_kg
        ]
    key = f"friction-{arm.entry.side or 'machine'}-{load_kg:g}".replace(".", "-")
    return friction_figure(key, f"Friction with {load_text(load_kg)}", travel, curves, changes)


def _points(arm: ArmHealth) -> list[LoggedPoint]:
    return [
        LoggedPoint(entry.measured, value.load_kg, value.value, value.u95)
        for entry in (*arm.earlier, arm.entry)
        for value in entry.values
        if value.load_kg is not None and entry.measured
    ]
