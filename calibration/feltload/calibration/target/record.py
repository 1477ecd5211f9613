"""Targets and judgements as JSON: `targets.json` beside a profile, from which its page can be drawn again."""

from __future__ import annotations

from typing import Any, Self

import numpy as np
from pydantic import BaseModel, ConfigDict

from feltload.calibration.target.judgement import Judgement
from feltload.calibration.target.target import Target, TargetAxis, TargetScale
from feltload.signal import Travel


class TargetRecord(BaseModel):
    """A target on disk; SI, as `Target` has it."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)

    text: str
    axis: TargetAxis
    at: list[float]
    wanted: list[float]
    tolerance: list[float]
    scale: TargetScale
    between: bool = True
    load_kg: float | None = None
    lower: list[bool] = [True]
    upper: list[bool] = [True]

    @classmethod
    def of(cls, target: Target) -> Self:
        """What is kept of a target."""
        return cls(
            text=target.text,
            axis=target.axis,
            at=target.at.tolist(),
            wanted=target.wanted.tolist(),
            tolerance=target.tolerance.tolist(),
            scale=target.scale,
            between=target.between,
            load_kg=target.load_kg,
            lower=target.lower.tolist(),
            upper=target.upper.tolist(),
        )

    @property
    def target(self) -> Target:
        """The same as a target.

        Raises
        ------
        TargetError
            It is none.
        """
        return Target(
            self.text,
            self.axis,
            np.array(self.at),
            np.array(self.wanted),
            np.array(self.tolerance),
            self.scale,
            self.between,
            self.load_kg,
            np.array(self.lower),
            np.array(self.upper),
        )


def judgement_record(judgement: Judgement, travel: Travel) -> dict[str, Any]:
    """A judgement for programs: verdict, probability, and every stretch outside the limits."""
    return {
        "target": judgement.placed.target.text,
        "load_kg": judgement.load_kg,
        "verdict": str(judgement.verdict),
        "probability": judgement.probability,
        "margin_n": judgement.margin_n,
        "scale_n": float(judgement.placed.scale_n(judgement.force_n)),
        "off": [
            {
                "from": travel.record(each.low_rad),
                "to": travel.record(each.high_rad),
                "at": travel.record(each.at_rad),
                "by_n": each.by_n,
                "u95_n": each.u95_n,
                "established": each.established,
            }
            for each in judgement.off
        ],
    }
