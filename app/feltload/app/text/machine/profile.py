"""A measured profile and what it was made from, in words."""

from __future__ import annotations

from typing import Final

import numpy as np

from feltload.app.files.provenance import Provenance
from feltload.app.text.facts import describe
from feltload.app.text.inputs import describe_gravity
from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.machine.friction import friction_key_figure
from feltload.app.text.numbers import (
    NO_BREAK,
    degrees,
    force_text,
    force_unit,
    listed,
    load_text,
    short_force,
)
from feltload.app.text.position import angle_name, describe_length, describe_position
from feltload.core import NORMAL_COVERAGE_95
from feltload.signal import (
    FLAT_SHARE,
    AngleKind,
    BudgetSource,
    ComplianceFact,
    FindingFact,
    Lag,
    ProfileEstimate,
    Shape,
    StopsFact,
    Travel,
    summarize_findings,
)

PROFILE_BAND: Final = "95 % band of the solid line"
FRICTION_BAND: Final = "its 95 % band"
"""What is shaded in the figures of a measured profile."""

SAID_ELSEWHERE = (
    FindingFact.HEAVIEST,
    FindingFact.DROP_OFF,
    FindingFact.FRICTION_BY_LOAD,
    FindingFact.FRICTION_NOT_PARTED,
)
"""Kinds of findings that the headline and the section on friction state."""


def describe_scope(estimate: ProfileEstimate, provenance: Provenance) -> str:
    """Loads, repetitions, travel and day in one line."""
    loads = listed([load_text(float(load)) for load in estimate.loads_kg])
    day = provenance.recordings[0].started_utc[:10] if provenance.recordings else ""
    side = None if provenance.options is None else provenance.options.side
    parts = [loads, f"{side} arm" if side else "", _how_much(estimate), describe_length(estimate.travel), day]
    return " · ".join(part for part in parts if part)


def _how_much(estimate: ProfileEstimate) -> str:
    """Repetitions, or readings at stops."""
    if estimate.moved:
        return f"{len(estimate.repetitions)} repetitions"
    if not estimate.measured:
        return "predicted"
    read = next(fact for fact in estimate.warnings if fact.kind == StopsFact.BY_HAND)
    return f"{read.figures['readings']} readings by hand at {read.figures['stops']} stops"


def describe_findings(estimate: ProfileEstimate, load_index: int) -> tuple[str, ...]:
    """Findings about one load that the page does not state elsewhere, a sentence each."""
    load_kg = float(estimate.loads_kg[load_index])
    return tuple(
        describe(finding)
        for finding in summarize_findings(estimate)
        if finding.figure("load_kg") == load_kg and finding.kind not in SAID_ELSEWHERE
    )


def describe_headline(shape: Shape, travel: Travel) -> str:
    """Where one load is heaviest, and how far it drops off from there."""
    heaviest = (
        f"With {load_text(shape.load_kg)} it is heaviest at {describe_position(shape.peak_angle_rad, travel)}: "
        f"{force_text(shape.peak_n)}."
    )
    if shape.end_n < 0.0:
        return (
            f"{heaviest} From there it falls, until the handle moves on by itself at the end of the travel."
        )
    if shape.drop_off_percent < 100.0 * FLAT_SHARE:
        return f"{heaviest} It stays heavy to the end of the travel."
    return f"{heaviest} From there it drops off by {shape.drop_off_percent:.0f}{NO_BREAK}% to the end of the travel."


def profile_key_figures(estimate: ProfileEstimate, load_index: int, shape: Shape) -> tuple[KeyFigure, ...]:
    """Three figures for one load."""
    return (*shape_key_figures(shape, estimate.travel), friction_key_figure(estimate, load_index))


def shape_key_figures(shape: Shape, travel: Travel) -> tuple[KeyFigure, ...]:
    """Where one load is heaviest, and its drop-off."""
    return (
        KeyFigure(
            "Heaviest",
            short_force(shape.peak_n),
            f"{short_force(shape.peak_n, force_unit().beside)}, at {100.0 * travel.share(shape.peak_angle_rad):.0f} % "
            f"of the travel, {travel.said_beside(shape.peak_angle_rad)}",
        ),
        KeyFigure(
            "Drop-off",
            f"{shape.drop_off_percent:.0f} %",
            f"to {force_text(shape.end_n)} at the end of the travel",
        ),
    )


def describe_budget(estimate: ProfileEstimate) -> str:
    """Band of the heaviest load, and how to read the budget below it."""
    top = int(np.argmax(estimate.loads_kg))
    half_width_n = float(np.nanmean(estimate.static_u95_n[top]))
    assumed = any(item.source is BudgetSource.FORCE_GAIN and not item.stated for item in estimate.budget)
    return (
        f"With {load_text(float(estimate.loads_kg[top]))} the true force lies within ±{force_text(half_width_n)} "
        f"of the solid line with 95{NO_BREAK}% confidence, on average over the travel"
        f"{', if the force sensor reads as truly as is assumed' if assumed else ''}. This is what that is made of; "
        f"u is one standard uncertainty, over all loads and angles.{_ASSUMED_GAIN if assumed else ''}"
    )


_ASSUMED_GAIN = (
    " Nobody stated how truly the force sensor reads. What stands below for its gain is an assumption, and a sensor "
    "that is further off shows nowhere on this page: a certificate (feltload calibrate force) replaces the assumption, "
    "and a known weight hung from the sensor tests it."
)


def describe_making(estimate: ProfileEstimate, provenance: Provenance) -> tuple[tuple[str, str], ...]:
    """What the result rests on: label and value of start stop, angle, lag, gravity and software."""
    return (
        *_start_stop(estimate),
        (
            angle_name(estimate.travel).capitalize(),
            f"known to {np.degrees(estimate.angle_rms_u_rad):.2f}° (one standard uncertainty)",
        ),
        *_handle_travel(estimate.travel),
        ("Force", _behind(estimate.lag)),
        *_play(estimate),
        *((("Gravity", describe_gravity(provenance.gravity)),) if provenance.gravity is not None else ()),
        ("Software", f"feltload {provenance.feltload}"),
    )


def _start_stop(estimate: ProfileEstimate) -> tuple[tuple[str, str], ...]:
    """The angle on the start stop, where it is one."""
    if estimate.scale.angle is not AngleKind.LEVER:
        return ()
    u_deg = np.degrees(estimate.u_start_angle_rad)
    return (("Start stop", f"{degrees(estimate.start_angle_rad)} ± {u_deg:.2g}°"),)


def _handle_travel(travel: Travel) -> tuple[tuple[str, str], ...]:
    """How far the handle goes, and how well that is known."""
    if travel.length_m is None or travel.scale.u_path_m is None:
        return ()
    u95_mm = 1e3 * NORMAL_COVERAGE_95 * float(travel.scale.u_path_m[-1])
    return (
        ("Handle travel", f"{1e3 * travel.length_m:.0f} ± {u95_mm:.1g} mm over the measured travel (95 %)"),
    )


def _play(estimate: ProfileEstimate) -> tuple[tuple[str, str], ...]:
    """What could not have been seen of a machine that gives, where nothing of it was found."""
    if not estimate.moved or any(fact.kind in set(ComplianceFact) for fact in estimate.warnings):
        return ()
    unseen = (
        "none found; between handle and inertial sensor it would not show here, elsewhere only where the load comes "
        "onto the hands on the start stop. Feel for it by hand, with the load off and the arm secured"
    )
    return (("Play", unseen),)


def _behind(lag: Lag | None) -> str:
    if lag is None:
        return "read at rest"
    behind = f"{1e3 * lag.value_s:.1f} ± {2e3 * lag.u_s:.1f} ms behind the angle (95 %)"
    return behind if lag.known else behind + "; assumed, nothing in the recording fixes it"
