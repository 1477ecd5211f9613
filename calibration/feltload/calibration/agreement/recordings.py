"""Whether the recordings of a profile are what they say they are: their loads, and the machine itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from feltload.calibration.agreement.compare import check_agreement
from feltload.calibration.agreement.explanation import CauseKind, CauseSet
from feltload.calibration.agreement.facts import AgreementFact
from feltload.calibration.agreement.joint.observations import Observation
from feltload.calibration.agreement.result import Agreement, AgreementVerdict
from feltload.calibration.machine.machine import Machine
from feltload.calibration.weights.gravity import Gravity
from feltload.core import STANDARD_GRAVITY_M_S2, Fact, Figure, Floats, Severity
from feltload.signal import ProfileEstimate

MOSTLY: Final = 0.9
"""Other loads are reported where they explain this part of the squared difference, even if something remains."""
UNLIKE_SHARE: Final = 0.1
"""A force that misses the machine file by this part of its peak, rms, whatever is changed in it within reason, is
somebody's help, another machine's file, or a machine with a part that the file lacks."""
FITS_SHARE: Final = 0.1
STRANGE_SHARE: Final = 0.2
"""Where one load's curve leaves the machine file by less than the first part of its peak, rms, and another's by more
than the second, they are not of one machine moved by one person."""
UNIT_SHARE: Final = 0.05
UNIT_LEFT_SHARE: Final = 0.03
"""A force that is the machine file's times the factor between two units, to the first part of it, and leaves less than
the second part of its peak, rms, was read in the wrong one."""
OTHER_INERTIA: Final = float(np.log(1.6))
"""A felt inertia further from the machine file's, as a factor, is no matter of hands or of how masses are spread."""
_LBF_N: Final = 4.4482216
_UNITS: Final = (
    ("N", "lbf", 1.0 / _LBF_N),
    ("lbf", "N", _LBF_N),
    ("N", "kgf", 1.0 / STANDARD_GRAVITY_M_S2),
    ("kgf", "N", STANDARD_GRAVITY_M_S2),
)
_TRIALS: Final = 200
"""Simulated surveys: fewer than for a verdict, since only gross errors count here."""


@dataclass(frozen=True)
class StrangeLoad:
    """A load whose curve is not of the machine that another one's is.

    Attributes
    ----------
    load_kg, fitting_kg : float
        The strange one, and the one that fits the machine file best, as stated.
    difference_n, angle_rad : float
        Where it is furthest from the machine file, whatever its load was, and by how much.
    """

    load_kg: float
    fitting_kg: float
    difference_n: float
    angle_rad: float


def strange_load(agreement: Agreement) -> StrangeLoad | None:
    """The recordings of one load that cannot be of the machine that others fit; None where all can.

    A wrong load alone is no strange one: each curve is compared with the machine file at the load that fits it.
    """
    loads = np.unique(agreement.load_kg)
    if loads.size < 2:
        return None
    parts = [agreement.load_kg == load for load in loads]
    # How the curve changes with the load, in any unit of it.
    heavier = agreement.model_n[parts[-1]] - agreement.model_n[parts[0]]
    left = []
    for part in parts:
        difference = agreement.measured_n[part] - agreement.model_n[part]
        shift = float(heavier @ difference) / max(float(heavier @ heavier), 1e-12)
        left.append(difference - shift * heavier)
    shares = [
        _rms(rest) / float(np.abs(agreement.measured_n[part]).max())
        for rest, part in zip(left, parts, strict=True)
    ]
    best, worst = int(np.argmin(shares)), int(np.argmax(shares))
    if shares[best] > FITS_SHARE or shares[worst] < STRANGE_SHARE:
        return None
    at = int(np.argmax(np.abs(left[worst])))
    angle = float(agreement.angle_rad[parts[worst]][at])
    return StrangeLoad(float(loads[worst]), float(loads[best]), float(left[worst][at]), angle)


def compare_coarsely(
    estimate: ProfileEstimate, machine: Machine, *, gravity: Gravity | None = None
) -> Agreement:
    """Compare a profile with the machine file for gross errors, faster than for a verdict.

    Raises
    ------
    AgreementError
        The profile covers too little.
    GeometryError
        The surveyed machine cannot be assembled over the measured travel.
    """
    return check_agreement(estimate, machine, gravity=gravity, trials=_TRIALS, complete=False)


def agreement_facts(agreement: Agreement) -> list[Fact]:
    """What speaks against the stated loads, or against the machine file being this machine's."""
    explanation = agreement.explanation
    hint = _hint_fact(agreement)
    unit = _unit_fact(agreement)
    before, after = agreement.measured_n - agreement.model_n, agreement.residual_n
    explained = 1.0 - float(np.sum(after**2) / max(float(np.sum(before**2)), 1e-12))
    if explanation.loads and (agreement.explained or explained >= MOSTLY):
        others = tuple(name for tied in explanation.tied if (name := _name(tied)))
        return [
            *unit,
            *(
                Fact(
                    AgreementFact.LOAD_LOOKS_LIKE,
                    Severity.SERIOUS,
                    figures={
                        "stated_kg": load.stated_kg,
                        "looks_like_kg": load.value_kg,
                        "u95_kg": load.u95_kg,
                        "tied": others,
                        "explained": agreement.explained,
                    },
                )
                for load in explanation.loads
            ),
            *hint,
        ]
    at = int(np.argmax(np.abs(before)))
    figures: dict[str, Figure] = {
        "difference_n": float(before[at]),
        **agreement.travel.figures(float(agreement.angle_rad[at])),
        "load_kg": float(agreement.load_kg[at]),
    }
    share = min(_rms(before), _rms(after)) / float(np.abs(agreement.measured_n).max())
    if not unit and not agreement.explained and share >= UNLIKE_SHARE:
        ratio = _inertia_ratio(agreement)
        if ratio is not None:
            figures["inertia_ratio"] = ratio
            figures["other_inertia"] = ratio <= 0.0 or bool(abs(np.log(ratio)) > OTHER_INERTIA)
        return [Fact(AgreementFact.UNLIKE_MACHINE, Severity.SERIOUS, figures=figures), *hint]
    if unit or agreement.verdict is not AgreementVerdict.DIFFERS:
        return [*unit, *hint]
    return [
        Fact(
            AgreementFact.FILE_DIFFERS,
            Severity.CAUTION,
            figures={
                **figures,
                **({} if (ratio := _inertia_ratio(agreement)) is None else {"inertia_ratio": ratio}),
                "force_differs": agreement.en_max > agreement.en_limit,
                "cause": str(explanation.kind),
                "names": () if explanation.best is None else (_name(explanation.best),),
                "tied": tuple(_name(tied) for tied in explanation.tied),
                "explained": agreement.explained,
            },
        ),
        *hint,
    ]


def _name(causes: CauseSet) -> str:
    """Dimensions of a set by their names in the file, or the kind of a common cause; empty for loads alone."""
    if causes.kind in (CauseKind.DIMENSIONS, CauseKind.LOAD):
        return " and ".join(key.dotted for key in causes.dimensions)
    return str(causes.kind)


def _inertia_ratio(agreement: Agreement) -> float | None:
    """Felt inertia over the machine file's: a pair of hands changes a force, hardly an inertia."""
    rows = [row for row in agreement.beside if row.kind is Observation.FELT_INERTIA]
    if not rows:
        return None
    return float(np.median([row.measured / row.predicted for row in rows]))


def _hint_fact(agreement: Agreement) -> list[Fact]:
    """What the sensor's place says against the start angle."""
    hint = agreement.start_hint
    if hint is None:
        return []
    figures: dict[str, Figure] = {
        "stated_rad": hint.stated_rad,
        "sensor_rad": hint.sensor_rad,
        "meant_rad": hint.meant_rad,
        "slip": str(hint.slip),
    }
    return [Fact(AgreementFact.START_ANGLE_SLIP, Severity.CAUTION, figures=figures)]


def _unit_fact(agreement: Agreement) -> list[Fact]:
    """Whether all forces are those of the machine file in another unit."""
    model, measured = agreement.model_n, agreement.measured_n
    ratio = float(model @ measured) / max(float(model @ model), 1e-12)
    left = _rms(measured - ratio * model) / max(float(np.abs(measured).max()), 1e-12)
    for taken, meant, factor in _UNITS:
        if left < UNIT_LEFT_SHARE and abs(ratio / factor - 1.0) < UNIT_SHARE:
            figures: dict[str, Figure] = {"ratio": ratio, "taken": taken, "meant": meant}
            return [Fact(AgreementFact.UNIT_LOOKS_WRONG, Severity.SERIOUS, figures=figures)]
    return []


def _rms(values: Floats) -> float:
    return float(np.sqrt(np.mean(values**2)))
