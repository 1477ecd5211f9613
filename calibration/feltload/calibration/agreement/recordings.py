"""Whether the recordings of a profile are what they say they are: their loads, and the machine itself."""

from __future__ import annotations

from typing import Final

import numpy as np

from feltload.calibration.agreement.compare import check_agreement
from feltload.calibration.agreement.facts import AgreementFact
from feltload.calibration.agreement.result import Agreement
from feltload.calibration.machine.machine import Machine
from feltload.calibration.weights.gravity import Gravity
from feltload.core import Fact, Floats, Severity
from feltload.signal import ProfileEstimate

MOSTLY: Final = 0.9
"""Other loads are reported where they explain this part of the squared difference, even if something remains."""
UNLIKE_SHARE: Final = 0.1
"""A force that misses the machine file by this part of its peak, rms, whatever is changed in it within reason, is
somebody's help, another machine's file, or a machine with a part that the file lacks."""
_TRIALS: Final = 200
"""Simulated surveys: fewer than for a verdict, since only gross errors count here."""


def doubt_recordings(
    estimate: ProfileEstimate, machine: Machine, *, gravity: Gravity | None = None, seed: int = 1
) -> list[Fact]:
    """What speaks against the stated loads, or against the machine file being this machine's.

    Raises
    ------
    AgreementError
        The profile covers too little.
    GeometryError
        The surveyed machine cannot be assembled over the measured travel.
    """
    return agreement_facts(check_agreement(estimate, machine, gravity=gravity, seed=seed, trials=_TRIALS))


def agreement_facts(agreement: Agreement) -> list[Fact]:
    """The same of an agreement that is there already."""
    explanation = agreement.explanation
    before, after = agreement.measured_n - agreement.model_n, agreement.residual_n
    explained = 1.0 - float(np.sum(after**2) / max(float(np.sum(before**2)), 1e-12))
    if explanation.loads and (agreement.explained or explained >= MOSTLY):
        others = tuple(key.dotted for tied in explanation.tied for key in tied.dimensions)
        return [
            Fact(
                AgreementFact.LOAD_LOOKS_LIKE,
                Severity.SERIOUS,
                figures={
                    "stated_kg": load.stated_kg,
                    "looks_like_kg": load.value_kg,
                    "u95_kg": load.u95_kg,
                    "tied": others,
                },
            )
            for load in explanation.loads
        ]
    share = min(_rms(before), _rms(after)) / float(np.abs(agreement.measured_n).max())
    if agreement.explained or share < UNLIKE_SHARE:
        return []
    at = int(np.argmax(np.abs(before)))
    figures = {
        "difference_n": float(before[at]),
        "angle_rad": float(agreement.angle_rad[at]),
        "load_kg": float(agreement.load_kg[at]),
    }
    return [Fact(AgreementFact.UNLIKE_MACHINE, Severity.SERIOUS, figures=figures)]


def _rms(values: Floats) -> float:
    return float(np.sqrt(np.mean(values**2)))
