"""What explains a difference from the machine file, and what a comparison could not have seen, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from feltload.app.text.calibration import start_slip
from feltload.app.text.machine.dimensions import (
    change_in_words,
    dimension_name,
    dimension_value,
    in_unit,
)
from feltload.app.text.numbers import degrees, listed, load_text, sentence
from feltload.calibration import (
    Addition,
    Agreement,
    CauseKind,
    CauseSet,
    Moved,
    Observation,
    StartHint,
    Unseen,
    unit_symbol,
)

MOST_TIED: Final = 4
"""More causes than this are counted, not listed."""
MOST_UNSEEN: Final = 3
CLEARLY_U: Final = 2.5
"""Standard uncertainties from which a single thing measured beside the force is reported."""

_ADDITIONS: Final = {
    Addition.SECOND_LOAD: "a second load",
    Addition.BRISK_REPETITIONS: "a few brisk repetitions",
    Addition.FREE_SWING: "a free swing of the unloaded arm",
}


def best_in_words(agreement: Agreement) -> str:
    """The best explanation, with uncertainties where dimensions moved one by one."""
    explanation = agreement.explanation
    if explanation.best is None or explanation.kind in (CauseKind.DIMENSIONS, CauseKind.LOAD):
        return "; and ".join(change_in_words(cause) for cause in explanation.causes)
    return cause_in_words(explanation.best)


def cause_in_words(causes: CauseSet) -> str:
    """``plates radius is 285 mm, not 270 mm`` or what else a set of causes is."""
    common = _common(causes)
    if causes.kind in (CauseKind.DIMENSIONS, CauseKind.LOAD):
        common = ""
    alone = {CauseKind.CELL_GAIN, *_SLIPS} - {CauseKind.RATIO, CauseKind.DIAMETER}
    moved = () if causes.kind in alone or causes.kind in _GROUPS else causes.moved
    parts = [common, *(_moved(item) for item in moved if not common)]
    if causes.kind is not CauseKind.LOAD_UNIT:
        pairs = zip(causes.loads_kg, causes.looks_like_kg, strict=False)
        parts += [f"{kg:.1f} kg were on it, not {load_text(stated)}" for stated, kg in pairs]
    return " and ".join(part for part in parts if part)


_GROUPS: Final = (CauseKind.START_STOP, CauseKind.BOTH_RADII)
_SLIPS: Final = (
    CauseKind.OTHER_SIDE,
    CauseKind.SIGN,
    CauseKind.DIAMETER,
    CauseKind.RATIO,
    CauseKind.LOAD_UNIT,
)


def _moved(item: Moved) -> str:
    surveyed = item.surveyed
    digits = max(0, 2 - int(np.floor(np.log10(max(abs(item.value / surveyed.per_unit), 1e-3)))))
    value = in_unit(f"{item.value / surveyed.per_unit:.{min(digits, 3)}f} {unit_symbol(surveyed.unit)}")
    return f"{dimension_name(surveyed.key)} is {value}, not {dimension_value(surveyed)}"


def _common(causes: CauseSet) -> str:
    """What one cause does to all that it moves."""
    if causes.kind is CauseKind.CELL_GAIN:
        off = 100.0 * (causes.gain - 1.0)
        return (
            f"the load cell reads {abs(off):.1f} % too {'high' if off > 0 else 'low'} (it has no certificate)"
        )
    if not causes.moved and causes.kind is not CauseKind.LOAD_UNIT:
        return ""
    if causes.kind is CauseKind.START_STOP:
        turn = max((m.value - m.surveyed.value for m in causes.moved), key=abs)
        way = "further round (ccw)" if turn > 0 else "further back (cw)"
        return (
            f"the arm starts {degrees(abs(turn))} {way} than the machine file has it, with every angle on it (another "
            "hole of the start stop, or a level zeroed on a slope)"
        )
    if causes.kind is CauseKind.OTHER_SIDE:
        return f"{_which(causes)} as seen from the other side (180° minus the angle)"
    if causes.kind is CauseKind.SIGN:
        return f"{_which(causes)} given with the wrong sign"
    if causes.kind is CauseKind.BOTH_RADII:
        share = 100.0 * (causes.moved[0].value / causes.moved[0].surveyed.value - 1.0)
        return f"both radii of the pulley are {abs(share):.0f} % {'larger' if share > 0 else 'smaller'} than surveyed"
    if causes.kind is CauseKind.DIAMETER:
        half = causes.moved[0].value < causes.moved[0].surveyed.value
        slip = "is a diameter in place of a radius" if half else "is half of the radius"
        return f"{dimension_name(causes.moved[0].surveyed.key)} {slip}: {_moved(causes.moved[0])}"
    if causes.kind is CauseKind.LOAD_UNIT:
        heavier = causes.looks_like_kg[0] > causes.loads_kg[0]
        right, wrong = ("kilograms", "pounds") if heavier else ("pounds", "kilograms")
        return f"the loads are {right} and were read as {wrong}"
    return ""


def _which(causes: CauseSet) -> str:
    if len(causes.moved) == 1:
        return f"{dimension_name(causes.moved[0].surveyed.key)} is"
    return "all angles of the machine file are"


def travel_in_words(agreement: Agreement) -> list[str]:
    """What else of a result rests on a cause that changes the handle's travel."""
    moved = {key.dimension for key in agreement.changed}
    if not moved & _OF_THE_TRAVEL:
        return []
    return [
        "Handle travel, work and power in the result were computed with the file's value: profile again once it is "
        "right."
    ]


_OF_THE_TRAVEL: Final = {
    "wheel_radius", "handle_radius", "handle_ratio", "pull_direction", "pull_angle", "input_length", "coupler_length",
    "rocker_length", "ground_length",
}  # fmt: skip


def tied_in_words(agreement: Agreement) -> list[str]:
    """Sentences about other causes that explain the difference as well."""
    tied = agreement.explanation.tied
    if not tied:
        return []
    names = [cause_in_words(other) for other in tied[:MOST_TIED]]
    more = f"; or {len(tied) - MOST_TIED} more" if len(tied) > MOST_TIED else ""
    advice = "Measure all of these before you change the file"
    if np.unique(agreement.load_kg).size == 1:
        advice += "; a recording with a second load tells more of them apart"
    return [f"As well explained, as far as the data tell: {'; or '.join(names)}{more}. {advice}."]


def tilt_in_words(agreement: Agreement) -> list[str]:
    """A tilt that the file does not state."""
    tilt = agreement.tilt
    if tilt is None or not tilt.taken:
        return []
    value = f"{np.degrees(tilt.value_rad):.1f} +/- {np.degrees(tilt.u_rad):.1f} deg"
    return [
        f"The hinge leans {degrees(tilt.value_rad)} from the horizontal by the sensor, and the machine file does not "
        f'say so: it is compared with that tilt. Write hinge_inclination = "{value}" in the file.'
    ]


def hint_in_words(hint: StartHint | None) -> list[str]:
    """A start angle that the sensor's place contradicts."""
    if hint is None:
        return []
    return [sentence(f"{start_slip(hint.stated_rad, hint.sensor_rad, hint.meant_rad, hint.slip)}.")]


def beside_in_words(agreement: Agreement) -> list[str]:
    """What was measured beside the force and is not as the machine file has it."""
    sentences = []
    inertia = [row for row in agreement.beside if row.kind is Observation.FELT_INERTIA]
    if inertia and np.median([abs(row.measured - row.predicted) / row.u for row in inertia]) > CLEARLY_U:
        ratio = float(np.median([row.measured / row.predicted for row in inertia]))
        sentences.append(f"The felt inertia is {ratio:.2f} times the machine file's.")
    for row in agreement.beside:
        if row.kind is Observation.HINGE_TILT and abs(row.measured - row.predicted) > CLEARLY_U * row.u:
            sentences.append(
                f"By gravity the hinge leans {degrees(row.measured)} from the horizontal, by the machine file "
                f"{degrees(row.predicted)}."
            )
    return sentences


def unseen_in_words(items: Sequence[Unseen], *, tilt_measured: bool) -> list[str]:
    """What would have passed, and what would tell."""
    seen = [item for item in items if not item.hidden]
    seen.sort(key=lambda item: -item.found_from / item.surveyed.blunder)
    sentences = []
    if seen:
        sizes = listed(
            [f"{dimension_name(item.key)} {_size(item, item.found_from)}" for item in seen[:MOST_UNSEEN]]
        )
        sentences.append(f"Not everything is seen: {sizes} off might pass here.")
    lower = [item for item in seen if item.addition is not None]
    if lower:
        item = min(lower, key=lambda item: item.found_from_then / item.found_from)
        assert item.addition is not None
        sentences.append(
            f"{_ADDITIONS[item.addition].capitalize()} would bring {dimension_name(item.key)} down to "
            f"{_size(item, item.found_from_then)}."
        )
    hidden = [
        dimension_name(item.key)
        for item in items
        if item.hidden and not (tilt_measured and item.key.dimension == "hinge_inclination")
    ]
    if hidden:
        sentences.append(f"This check says nothing of {listed(hidden)}.")
    return sentences


def _size(item: Unseen, value: float) -> str:
    surveyed = item.surveyed
    return in_unit(f"{value / surveyed.per_unit:.2g} {unit_symbol(surveyed.unit)}")
