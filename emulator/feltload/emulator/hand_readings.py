"""A hanging scale that a person holds at stops and reads: its errors and the hand's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from feltload.core import STANDARD_GRAVITY_M_S2
from feltload.emulator.scenarios import Scenario

WAYS: Mapping[str, float] = {"raising": 1.0, "lowering": -1.0}


@dataclass(frozen=True)
class HandScaleErrors:
    """What is drawn for one session of readings, each at its own distribution.

    Parameters
    ----------
    step_kgf : float
        Smallest step that the scale shows.
    error_share : float
        Limits of its gain's error, uniform.
    scatter_share : float
        Standard deviation of a reading about the force, as a part of it.
    position_sd_rad : float
        Of a stop's position as written down.
    pull_sd_rad : float
        Of the angle between scale and path, one for the session.
    start_angle_sd_rad : float
        Of the start angle as stated.
    """

    step_kgf: float = 0.1
    error_share: float = 0.01
    scatter_share: float = 0.01
    position_sd_rad: float = float(np.radians(1.0))
    pull_sd_rad: float = float(np.radians(5.0))
    start_angle_sd_rad: float = float(np.radians(0.3))


@dataclass(frozen=True)
class HandReadings:
    """One session of readings.

    Attributes
    ----------
    table : DataFrame
        `rotation_deg`, `reading_kgf` and `way`, as a person writes them down.
    start_angle_error_rad : float
        Stated start angle minus the true one.
    """

    table: pd.DataFrame
    start_angle_error_rad: float


def read_by_hand(
    scene: Scenario,
    seed: int,
    *,
    stops: int = 9,
    ways: Sequence[str] = ("raising", "lowering"),
    repeats: int = 1,
    errors: HandScaleErrors | None = None,
    friction_share: float | None = None,
) -> HandReadings:
    """Readings through the travel of an emulated machine.

    Parameters
    ----------
    scene : Scenario
    seed : int
    stops, repeats : int
        Places, evenly over the travel, and readings of each way at each.
    ways : sequence of {"raising", "lowering"}
        In which the handle was creeping when it was read.
    errors : HandScaleErrors, optional
    friction_share : float, optional
        Friction as a part of the mean force, in place of the machine's own.
    """
    drawn = HandScaleErrors() if errors is None else errors
    rng = np.random.default_rng(seed)
    true_q = np.linspace(0.0, scene.machine.travel_rad, stops)
    written = np.degrees(true_q + rng.normal(0.0, drawn.position_sd_rad, stops))
    gain = 1.0 + rng.uniform(-drawn.error_share, drawn.error_share)
    zero = rng.uniform(-drawn.step_kgf, drawn.step_kgf)
    askew = 1.0 / np.cos(rng.normal(0.0, drawn.pull_sd_rad))
    static = scene.static_force_n(true_q)
    own = scene.friction_n(true_q)
    friction = own if friction_share is None else np.full(stops, friction_share * np.mean(np.abs(static)))
    rows = []
    for _ in range(repeats):
        for way in ways:
            force = static + WAYS[way] * friction
            kgf = force * askew * gain / STANDARD_GRAVITY_M_S2
            kgf = kgf * (1.0 + rng.normal(0.0, drawn.scatter_share, stops)) + zero
            shown = np.round(kgf / drawn.step_kgf) * drawn.step_kgf
            rows += [(q, r, way) for q, r in zip(written, shown, strict=True)]
    table = pd.DataFrame(rows, columns=["rotation_deg", "reading_kgf", "way"])
    return HandReadings(
        table.round({"rotation_deg": 1, "reading_kgf": 3}), float(rng.normal(0.0, drawn.start_angle_sd_rad))
    )
