"""What the band of a profile that was read by hand is made of."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from feltload.core import Floats
from feltload.signal.profile.uncertainty.budget_item import BudgetBasis, BudgetItem, BudgetSource
from feltload.signal.session import Reference
from feltload.signal.stops.fit import FittedLoad
from feltload.signal.stops.scale import FRICTION_SHARE, PULL_RAD, HandScale


def stops_budget(
    fits: Sequence[FittedLoad], static: Floats, q_rad: Floats, reference: Reference, scale: HandScale
) -> tuple[list[BudgetItem], Floats]:
    """Every source, and the part of it (m, n) whose size is estimated from few readings."""

    def random(source: BudgetSource) -> Floats:
        return np.sqrt(np.stack([fit.parts_n2[source] for fit in fits]))

    position_stated = all(fit.readings.position_stated for fit in fits)
    read = fits[0].readings.step_n
    step = read if scale.resolution_n is None else scale.resolution_n
    stated = BudgetBasis.STATED if scale.error_stated else BudgetBasis.DEFAULT
    items = [
        BudgetItem(BudgetSource.REPEATABILITY, random(BudgetSource.REPEATABILITY), BudgetBasis.READINGS),
        BudgetItem(BudgetSource.BETWEEN_STOPS, random(BudgetSource.BETWEEN_STOPS), BudgetBasis.READINGS),
        BudgetItem(
            BudgetSource.SCALE_RESOLUTION,
            random(BudgetSource.SCALE_RESOLUTION),
            BudgetBasis.READINGS if scale.resolution_n is None else BudgetBasis.STATED,
            figures={"step_n": step},
        ),
        BudgetItem(
            BudgetSource.POSITION_READING,
            random(BudgetSource.POSITION_READING),
            BudgetBasis.STATED if position_stated else BudgetBasis.DEFAULT,
            stated=position_stated,
        ),
        BudgetItem(BudgetSource.FORCE_GAIN, static * scale.gain_u, stated, stated=scale.error_stated),
        BudgetItem(
            BudgetSource.FORCE_ZERO,
            np.full(static.shape, step / np.sqrt(3.0)),
            BudgetBasis.DEFAULT,
            stated=False,
        ),
        BudgetItem(
            BudgetSource.LINE_OF_PULL,
            # Pulled askew by an angle, a scale reads the force over its cosine: mean and spread of half its square.
            static * np.sqrt(3.0) / 2.0 * PULL_RAD**2,
            BudgetBasis.DEFAULT,
            stated=False,
            figures={"angle_rad": PULL_RAD},
        ),
    ]
    if reference.u_start_angle_rad > 0.0:
        slope = np.gradient(static, q_rad, axis=1)
        items.append(
            BudgetItem(
                BudgetSource.START_ANGLE, -slope * reference.u_start_angle_rad, BudgetBasis.MACHINE_FILE
            )
        )
    if not all(fit.separated for fit in fits):
        sizes = FRICTION_SHARE * np.mean(np.abs(static), axis=1)
        unknown = np.where([fit.separated for fit in fits], 0.0, sizes)
        curve = unknown[:, None] * np.ones(q_rad.size)
        items.append(BudgetItem(BudgetSource.FRICTION, curve, BudgetBasis.DEFAULT, stated=False))
    return items, random(BudgetSource.REPEATABILITY)
