"""What a set of readings amounts to under the force standards.

Sources, all from memory: ASTM E74-18, 7.1.2 and 8.5 (lower limit factor 2.4 s, class A 400 and class AA 2000 times
it); ISO 376:2011 and ISO 7500-1:2018, class tables.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from feltload.acquisition import ClassResult, LowerLimit, StepErrors
from feltload.core import Fact

LOWER_LIMIT_MULTIPLE: Final = 2.4
CLASS_A_MULTIPLE: Final = 400.0
CLASS_AA_MULTIPLE: Final = 2000.0

# Percent; best class first. Applied force: expanded uncertainty of the weights.
ISO_376: Final[dict[str, dict[str, float]]] = {
    "00": {"b": 0.05, "bp": 0.025, "fc": 0.025, "f0": 0.012, "v": 0.07, "c": 0.025, "applied": 0.01},
    "0.5": {"b": 0.1, "bp": 0.05, "fc": 0.05, "f0": 0.025, "v": 0.15, "c": 0.05, "applied": 0.02},
    "1": {"b": 0.2, "bp": 0.1, "fc": 0.1, "f0": 0.05, "v": 0.3, "c": 0.1, "applied": 0.05},
    "2": {"b": 0.4, "bp": 0.2, "fc": 0.2, "f0": 0.1, "v": 0.5, "c": 0.2, "applied": 0.1},
}
ISO_7500_1: Final[dict[str, dict[str, float]]] = {
    "0.5": {"q": 0.5, "b": 0.5, "v": 0.75, "f0": 0.05, "a": 0.25},
    "1": {"q": 1.0, "b": 1.0, "v": 1.5, "f0": 0.1, "a": 0.5},
    "2": {"q": 2.0, "b": 2.0, "v": 3.0, "f0": 0.2, "a": 1.0},
    "3": {"q": 3.0, "b": 3.0, "v": 4.5, "f0": 0.3, "a": 1.5},
}


def lower_limit(
    residual_sd_n: float, resolution_n: float, lowest_n: float, highest_n: float, missing: list[Fact]
) -> LowerLimit:
    """Lower limit factor and the lowest force of each class.

    The factor is never below the resolution, and no class reaches below the lowest force applied.
    """
    factor = max(LOWER_LIMIT_MULTIPLE * residual_sd_n, resolution_n)
    starts = [max(k * factor, lowest_n) for k in (CLASS_A_MULTIPLE, CLASS_AA_MULTIPLE)]
    class_a, class_aa = (start if start < highest_n else None for start in starts)
    return LowerLimit(
        residual_sd_n=residual_sd_n,
        factor_n=factor,
        class_a_from_n=class_a,
        class_aa_from_n=class_aa,
        missing=missing,
    )


def _class_of(
    steps: Sequence[StepErrors],
    table: Mapping[str, Mapping[str, float]],
    per_step: Mapping[str, str],
    whole: Mapping[str, float | None],
    reach: float,
) -> tuple[str | None, float | None]:
    """Best class whose limits hold from the highest force down to `reach` of it, and its lowest force."""
    falling = sorted(steps, key=lambda step: -step.force_n)
    for name, limits in table.items():
        if any(value is not None and abs(value) > limits[key] for key, value in whole.items()):
            continue
        lowest = None
        for step in falling:
            values = {key: getattr(step, field) for key, field in per_step.items()}
            if any(value is not None and abs(value) > limits[key] for key, value in values.items()):
                break
            lowest = step.force_n
        if lowest is not None and lowest <= reach * falling[0].force_n:
            return name, lowest
    return None, None


def iso_376(
    steps: Sequence[StepErrors],
    *,
    zero_percent: float | None,
    creep_percent: float | None,
    applied_u95_percent: float,
    missing: list[Fact],
) -> ClassResult:
    """Class under ISO 376: the limits must hold from the highest force down to half of it or below.

    Errors that are None were not assessed; the caller names them in `missing`.
    """
    name, lowest = _class_of(
        steps,
        ISO_376,
        {
            "b": "reproducibility_percent",
            "bp": "repeatability_percent",
            "fc": "interpolation_percent",
            "v": "reversibility_percent",
        },
        {"f0": zero_percent, "c": creep_percent, "applied": applied_u95_percent},
        0.5,
    )
    return ClassResult(
        standard="ISO 376",
        class_name=name,
        from_n=lowest,
        to_n=None if name is None else max(step.force_n for step in steps),
        zero_percent=zero_percent,
        creep_percent=creep_percent,
        missing=missing,
    )


def iso_7500_1(
    steps: Sequence[StepErrors], *, zero_percent: float | None, resolution_n: float, missing: list[Fact]
) -> ClassResult:
    """Class of the chain under ISO 7500-1: the limits must hold down to a fifth of the highest force."""
    highest = max(step.force_n for step in steps)
    name, lowest = None, None
    for candidate, limits in ISO_7500_1.items():
        # The relative resolution grows towards low forces and ends the range by itself.
        usable = [step for step in steps if 100.0 * resolution_n / step.force_n <= limits["a"]]
        if not usable:
            continue
        name, lowest = _class_of(
            usable,
            {candidate: limits},
            {"q": "indication_percent", "b": "indication_spread_percent", "v": "reversibility_percent"},
            {"f0": zero_percent},
            0.2,
        )
        if name is not None:
            break
    return ClassResult(
        standard="ISO 7500-1",
        class_name=name,
        from_n=lowest,
        to_n=None if name is None else highest,
        zero_percent=zero_percent,
        resolution_percent=None if lowest is None else 100.0 * resolution_n / lowest,
        missing=missing,
    )
