"""Curves of one load, as the report's figures draw them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from feltload.app.text.numbers import load_text
from feltload.core import Floats
from feltload.signal import ProfileEstimate, TightSpot, tight_spots


@dataclass(frozen=True)
class LoadCurves:
    """What was measured with one load, over the same angles.

    Where friction was not separated, raising and lowering are the static force and friction is NaN.

    Attributes
    ----------
    label : str
        The load as shown, e.g. ``"40 kg"``.
    static_n, u95_n, raising_n, lowering_n, friction_n : ndarray, shape (n,)
        Newtons at the handle.
    friction_u95_n : ndarray, shape (n,)
        Half-width of the 95 % band of the friction; NaN where it is not known.
    spots : tuple of TightSpot
        Where friction stands out.
    model_n, model_u95_n, en : ndarray, shape (n,), optional
        The machine file's prediction, its 95 % half-width, and the E_n score.
    """

    label: str
    static_n: Floats
    u95_n: Floats
    raising_n: Floats
    lowering_n: Floats
    friction_n: Floats
    friction_u95_n: Floats
    spots: tuple[TightSpot, ...] = ()
    model_n: Floats | None = None
    model_u95_n: Floats | None = None
    en: Floats | None = None

    @property
    def separated(self) -> bool:
        """Whether friction was separated from the force."""
        return bool(np.any(np.isfinite(self.friction_n)))


def load_curves(estimate: ProfileEstimate) -> list[LoadCurves]:
    """Curves of every load, ready to be drawn."""
    return [
        LoadCurves(
            label=load_text(float(load)),
            static_n=estimate.static_n[index],
            u95_n=estimate.static_u95_n[index],
            raising_n=estimate.static_n[index] + rubbing,
            lowering_n=estimate.static_n[index] - rubbing,
            friction_n=estimate.friction_n[index],
            friction_u95_n=estimate.friction_u95_n[index],
            spots=tight_spots(estimate, index),
        )
        for index, load in enumerate(estimate.loads_kg)
        for rubbing in (np.nan_to_num(estimate.friction_n[index]),)
    ]
