"""Friction of a machine in words: how much on average, and where it stands out."""

from __future__ import annotations

import numpy as np

from feltload.app.text.facts import describe
from feltload.app.text.key_figure import KeyFigure
from feltload.app.text.numbers import (
    MISSING,
    force_text,
    force_unit,
    force_with_band,
    listed,
    load_text,
    short_force,
)
from feltload.app.text.position import short_position
from feltload.signal import FindingFact, ProfileEstimate, mean_friction_n, summarize_findings, tight_spots

BY_LOAD = (FindingFact.FRICTION_BY_LOAD, FindingFact.FRICTION_NOT_PARTED)
NOT_SEPARATED = "not separated from the force: no stop was read both raising and lowering"
"""What is said of the friction of readings by hand that do not tell it."""


def describe_friction(estimate: ProfileEstimate) -> str:
    """Mean friction of every load, which way it acts, where it stands out, and whether it grows with the load."""
    parts = [
        f"{_mean(estimate, index)} on average with {load_text(float(load_kg))}"
        for index, load_kg in enumerate(estimate.loads_kg)
        if np.isfinite(mean_friction_n(estimate, index)[0])
    ]
    if not parts:
        return f"It is {NOT_SEPARATED}. The band allows for it."
    words = f"Friction adds {listed(parts)} on the way up, and makes the way down lighter by as much."
    places = _places(estimate, int(np.argmax(estimate.loads_kg)))
    by_load = [describe(fact) for fact in summarize_findings(estimate) if fact.kind in BY_LOAD]
    return " ".join([words, *([f"It stands out with {places}."] if places else []), *by_load])


def describe_tight_spots(estimate: ProfileEstimate, load_index: int) -> list[str]:
    """A sentence for each place where friction of one load stands out."""
    load_kg = float(estimate.loads_kg[load_index])
    return [
        describe(fact)
        for fact in summarize_findings(estimate)
        if fact.kind is FindingFact.TIGHT_SPOT and fact.figure("load_kg") == load_kg
    ]


def friction_cell(estimate: ProfileEstimate, load_index: int) -> str:
    """``5.0 N (0.5 kgf), 12 N at 62 % (17°)``: mean, and where it stands out."""
    mean_n, _ = mean_friction_n(estimate, load_index)
    if not np.isfinite(mean_n):
        return MISSING
    return ", ".join([force_text(mean_n), *_spots(estimate, load_index)])


def friction_key_figure(estimate: ProfileEstimate, load_index: int) -> KeyFigure:
    """Mean friction of one load, which way it acts, and where it stands out."""
    mean_n, _ = mean_friction_n(estimate, load_index)
    if not np.isfinite(mean_n):
        return KeyFigure("Friction", MISSING, NOT_SEPARATED)
    beside = short_force(mean_n, force_unit().beside)
    return KeyFigure("Friction", short_force(mean_n), f"{beside} {friction_note(estimate, load_index)}")


def friction_note(estimate: ProfileEstimate, load_index: int) -> str:
    """What stands below the figure of mean friction: which way it acts, and where it stands out."""
    places = _places(estimate, load_index)
    return "more raising, as much less lowering" + (f"; {places}" if places else "")


def _places(estimate: ProfileEstimate, load_index: int) -> str:
    return listed(_spots(estimate, load_index))


def _spots(estimate: ProfileEstimate, load_index: int) -> list[str]:
    travel = estimate.travel
    return [
        f"{short_force(spot.friction_n)} at {short_position(spot.angle_rad, travel)}"
        for spot in tight_spots(estimate, load_index)
    ]


def _mean(estimate: ProfileEstimate, load_index: int) -> str:
    mean_n, u95_n = mean_friction_n(estimate, load_index)
    return force_with_band(mean_n, u95_n) if np.isfinite(u95_n) else force_text(mean_n)
