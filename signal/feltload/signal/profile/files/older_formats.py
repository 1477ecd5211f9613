"""Results of older formats brought to the present one.

Format 1 had one factor of the squared rate for all loads. Formats 1 and 2 said warnings, sources of the budget and
field checks in words, and held what follows from other fields. Until format 3 every position was an angle.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from feltload.signal.movement.travel import AngleKind
from feltload.signal.profile.uncertainty.budget_item import BudgetBasis, BudgetSource

WORDS_UNTIL = 2
"""Last format that had words in place of kinds."""
ANGLES_UNTIL = 3
"""Last format that did not say what an angle is."""

LABELS = {
    "repeatability and noise": BudgetSource.REPEATABILITY,
    "force calibration gain": BudgetSource.FORCE_GAIN,
    "line of pull": BudgetSource.LINE_OF_PULL,
    "start angle": BudgetSource.START_ANGLE,
    "force zero": BudgetSource.FORCE_ZERO,
    "drift of the zero": BudgetSource.ZERO_DRIFT,
    "lever angle, scale": BudgetSource.ANGLE_SCALE,
    "lever angle, start stop": BudgetSource.ANGLE_START_STOP,
    "lever angle, shape": BudgetSource.ANGLE_SHAPE,
    "lag": BudgetSource.LAG,
    "load mass": BudgetSource.LOAD_MASS,
}
"""What the sources were called."""

_SESSION = re.compile(r"(?P<label>[^(]*?)(?: \((?P<session>.*)\))?$")
_FIELD_CHECK = "field_check_"
_AGREES = "_agrees"


def present_meta(meta: Mapping[str, Any]) -> dict[str, Any]:
    """Metadata of `model.npz` as the present format has them.

    Raises
    ------
    KeyError, TypeError
        If it is of no format known.
    """
    if meta["format"] > ANGLES_UNTIL:
        return dict(meta)
    meta = {"angle_is": AngleKind.LEVER, "turning_part": "arm", **meta}
    if meta["format"] > WORDS_UNTIL:
        return meta
    return {
        **meta,
        "budget": [_budget_item(item) for item in meta["budget"]],
        "lags": [_without(lag, "chi2", "degrees", "agree") for lag in meta["lags"]],
        "repetitions": [_without(item, "range_rad", "mean_power_w") for item in meta["repetitions"]],
        "health": _health(meta["health"]),
    }


def _without(record: Mapping[str, Any], *names: str) -> dict[str, Any]:
    return {name: value for name, value in record.items() if name not in names}


def _budget_item(item: Mapping[str, Any]) -> dict[str, Any]:
    match = _SESSION.match(item["source"])
    if match is None:
        raise KeyError(item["source"])
    return {
        "source": LABELS[match["label"]],
        "session": match["session"] or "",
        "basis": BudgetBasis.OLDER_FORMAT,
        "stated": item["stated"],
        "figures": {"text": item["note"]},
    }


def _health(health: Mapping[str, Any]) -> dict[str, Any]:
    """Figures as they were, and a record for each field check: its sentence and outcome had keys built from names."""
    checks = [
        {
            "session": name.removeprefix(_FIELD_CHECK),
            "weight": str(words),
            "agrees": health.get(f"{name}{_AGREES}"),
        }
        for name, words in health.items()
        if name.startswith(_FIELD_CHECK) and isinstance(words, str)
    ]
    figures = {name: value for name, value in health.items() if not name.startswith(_FIELD_CHECK)}
    return {**figures, "field_checks": checks}
