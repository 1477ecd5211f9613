"""Sentences of the facts of `feltload.calibration`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from feltload.app.text import certificate_facts
from feltload.app.text.common import Sentence
from feltload.app.text.numbers import degrees, exact_force, listed, load_text, short_force
from feltload.app.text.position import describe_fact_position, describe_fact_stretches
from feltload.calibration import AgreementFact, CauseKind, FieldCheckFact, ForceSessionFact, PredictionFact
from feltload.core import POUND_KG, Fact

PLATE_STEPS_KG: Final = (5.0, 2.5, 1.25)
"""Steps of plate sums, the commonest first (common practice, no source)."""


def plate_sum_kg(value_kg: float, u95_kg: float) -> float | None:
    """The commonest sum of plates within the band of a load; None where none is."""
    for step in PLATE_STEPS_KG:
        nearest = step * round(value_kg / step)
        if abs(nearest - value_kg) <= max(u95_kg, 0.02 * value_kg):
            return nearest
    return None


def looks_like(value_kg: float, u95_kg: float, stated_kg: float) -> str:
    """``looks like 40 kg (39.5 ± 0.8 kg by the machine file), 20 kg was stated``."""
    digits = 1 if u95_kg < 2.0 else 0
    band = f"{value_kg:.{digits}f} ± {max(u95_kg, 0.1):.{digits}f} kg"
    stated = f"{load_text(stated_kg)} was stated"
    if abs(value_kg - POUND_KG * stated_kg) <= u95_kg:
        return f"looks like {stated_kg:g} lb ({band} by the machine file), {stated}"
    plates = plate_sum_kg(value_kg, u95_kg)
    if plates is None:
        return f"looks like {band} by the machine file, {stated}"
    return f"looks like {load_text(plates)} ({band} by the machine file), {stated}"


def _field_check(outcome: Sentence) -> Sentence:
    """The outcome of a known weight, led by the weight."""
    return lambda fact: f"Field check with {fact.figures.get('weight', 'a known weight')}: {outcome(fact)}"


def _compared(fact: Fact) -> str:
    return (
        f"{exact_force(fact.figure('measured_n'))} measured, {exact_force(fact.figure('applied_n'))} applied"
    )


def _scored(advice: str) -> Sentence:
    return lambda fact: f"{_compared(fact)}, E_n {fact.figure('en'):+.2f}: {advice}"


def _without_certificate(fact: Fact) -> str:
    off = fact.figure("measured_n") / fact.figure("applied_n") - 1.0
    return f"{_compared(fact)} ({100 * off:+.2f} %); no certificate to judge by"


def _another_weight(fact: Fact) -> str:
    asked = fact.figures.get("asked") or "an empty cell"
    return f"this reads like {fact.figure('seems_kg'):.3g} kg, asked for was {asked}: is the right weight on?"


def _load_looks_like(fact: Fact) -> str:
    stated = fact.figure("stated_kg")
    words = f"the load {looks_like(fact.figure('looks_like_kg'), fact.figure('u95_kg'), stated)}"
    names = _names(fact.figures.get("tied"))
    if fact.figures.get("explained") is False:
        words += ", though the force does not follow the machine file even so: it may be another machine's"
    otherwise = f"if the plates are right, the machine file's {' or '.join(names)} is not; " if names else ""
    return (
        f"{words}; check which plates were on it; {otherwise}a wrong load makes every figure for a load wrong"
    )


def _unit_looks_wrong(fact: Fact) -> str:
    return (
        f"all forces are {fact.figure('ratio'):.3g} times what the machine file has, as if {fact.figures['meant']} had "
        f"been read as {fact.figures['taken']}: check the unit in the rig file, the certificate or the columns before "
        "you look at plates"
    )


def _file_differs(fact: Fact) -> str:
    difference = fact.figure("difference_n")
    more = "more" if difference > 0 else "less"
    words = (
        f"the force is {short_force(abs(difference))} {more} than the machine file has it "
        f"at {describe_fact_position(fact)} with {load_text(fact.figure('load_kg'))}"
    )
    ratio = fact.figures.get("inertia_ratio")
    if (
        not fact.figures.get("force_differs")
        and isinstance(ratio, float)
        and abs(ratio - 1.0) > UNLIKE_INERTIA
    ):
        words = f"the force is the machine file's, but the felt inertia is {ratio:.2f} times it"
    if not fact.figures.get("explained"):
        return f"{words}, and no change of up to three dimensions explains all of it: `feltload check` shows where"
    causes = [*_names(fact.figures.get("names")), *_names(fact.figures.get("tied"))]
    if causes:
        words += f"; it would fit with another {' or another '.join(causes)}"
    return f"{words}; `feltload check` says by how much, and what to measure"


UNLIKE_INERTIA: Final = 0.05
"""Part by which a felt inertia is other than the machine file's that is reported in place of a force."""
_COMMON: Final = {
    CauseKind.START_STOP: "start of the arm (start stop, or the level's zero)",
    CauseKind.OTHER_SIDE: "side from which the angles were seen",
    CauseKind.SIGN: "sign of the angles",
    CauseKind.BOTH_RADII: "radius of the whole pulley",
    CauseKind.DIAMETER: "radius (a diameter may be in its place)",
    CauseKind.RATIO: "number of pulleys",
    CauseKind.LOAD_UNIT: "unit of the loads",
    CauseKind.CELL_GAIN: "load cell (this one has no certificate)",
}
"""Causes that move several dimensions, as what is other than stated."""


def _names(names: object) -> list[str]:
    """Dimensions, or what else is other than stated, as people say them."""
    if not isinstance(names, tuple):
        return []
    kinds = {str(kind): words for kind, words in _COMMON.items()}
    return [kinds.get(str(name), str(name).replace(".", " ").replace("_", " ")) for name in names]


def start_slip(stated_rad: float, sensor_rad: float, meant_rad: float, slip: str) -> str:
    """A start angle that the sensor's place contradicts."""
    how = "with the wrong sign" if slip == CauseKind.SIGN else "from the other side"
    return (
        f"at the start the sensor sits at {degrees(sensor_rad)} as seen from the hinge, and the machine file's "
        f"start_angle is {degrees(stated_rad)}: if the sensor is on the arm between hinge and handle, the start angle "
        f"was read {how} ({degrees(meant_rad)} is meant)"
    )


def _start_angle_slip(fact: Fact) -> str:
    stated, sensor, meant = (fact.figure(f"{name}_rad") for name in ("stated", "sensor", "meant"))
    return start_slip(stated, sensor, meant, str(fact.figures["slip"]))


def _unlike_machine(fact: Fact) -> str:
    difference = fact.figure("difference_n")
    return (
        f"the force is {short_force(abs(difference))} {'more' if difference > 0 else 'less'} than the machine file "
        f"has it at {describe_fact_position(fact)} with {load_text(fact.figure('load_kg'))}, and no plausible "
        f"change of the file explains that; {_whose(fact)}"
    )


def _whose(fact: Fact) -> str:
    """Whether hands or another machine are the likelier reason."""
    ratio = fact.figures.get("inertia_ratio")
    if not fact.figures.get("other_inertia"):
        return (
            "the force is not the machine's alone if somebody helped, or the file is of another machine or lacks "
            "a part"
        )
    return (
        f"the felt inertia is {ratio:.2g} times the file's, which no hands do: it may be another machine's, or "
        "lack a part"
    )


def _unstated(fact: Fact) -> str:
    keys = fact.figures.get("names", ())
    names = [
        str(key).replace(".", " ").replace("_", " ") for key in (keys if isinstance(keys, tuple) else ())
    ]
    return (
        f"the uncertainty of {listed(names)} is a default, which makes {100.0 * fact.figure('share'):.0f} % of the "
        "band's variance; state it in the machine file"
    )


def _pushes(fact: Fact) -> str:
    return (
        f"with {load_text(fact.figure('load_kg'))} the force is below zero at {describe_fact_stretches(fact)}: there "
        "the handle moves on by itself and has to be held back"
    )


SENTENCES: Mapping[str, Sentence] = {
    **certificate_facts.SENTENCES,
    FieldCheckFact.AGREES: _field_check(_scored("the certificate still holds")),
    FieldCheckFact.DIFFERS: _field_check(
        _scored(
            "do not use the certificate: look for a bent shackle, a side load or an overload, then calibrate again"
        )
    ),
    FieldCheckFact.ABOVE_CAPACITY: _field_check(
        lambda fact: (
            f"{exact_force(fact.figure('applied_n'), 0)} exceeds the rated capacity of "
            f"{exact_force(fact.figure('rated_capacity_n'), 0)}; take a lighter weight; do not hang this one"
        )
    ),
    FieldCheckFact.OUT_OF_RANGE: _field_check(
        lambda fact: (
            f"{exact_force(fact.figure('applied_n'), 0)} is outside the calibrated range, up to "
            f"{exact_force(fact.figure('highest_n'), 0)}; take a weight within it"
        )
    ),
    FieldCheckFact.WITHOUT_CERTIFICATE: _field_check(_without_certificate),
    FieldCheckFact.READING_ONLY: _field_check(
        lambda fact: (
            f"{fact.figure('reading'):.0f} {fact.figures.get('unit', '')} for {exact_force(fact.figure('applied_n'))}; "
            "no certificate"
        )
    ),
    FieldCheckFact.WITHOUT_READINGS: _field_check(
        lambda fact: "no hands-off window, or too few samples, to compare the weight with"
    ),
    ForceSessionFact.NOT_FELT: lambda fact: (
        "the reading has not moved from the empty cell: is the weight on the cell?"
    ),
    ForceSessionFact.ANOTHER_WEIGHT: _another_weight,
    AgreementFact.LOAD_LOOKS_LIKE: _load_looks_like,
    AgreementFact.UNIT_LOOKS_WRONG: _unit_looks_wrong,
    AgreementFact.FILE_DIFFERS: _file_differs,
    AgreementFact.START_ANGLE_SLIP: _start_angle_slip,
    AgreementFact.UNLIKE_MACHINE: _unlike_machine,
    PredictionFact.NOT_MEASURED: lambda _: (
        "this is a prediction; measure the machine before anybody works by it"
    ),
    PredictionFact.NO_FRICTION: lambda _: (
        "friction is not stated, so raising will be heavier and lowering lighter than the curve by an unknown amount; "
        'give a range, such as --friction "3 to 8 %"'
    ),
    PredictionFact.DEFAULT_UNCERTAINTIES: _unstated,
    PredictionFact.NOT_LINEAR: lambda _: (
        "dimensions are so uncertain that the band was taken from simulated machines"
    ),
    PredictionFact.PUSHES_ALONG: _pushes,
}
"""Kind -> what is said of it."""
