"""Predicted results of machine files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from feltload.app.errors import UsageError
from feltload.app.files.inputs import read_load, read_machine_text
from feltload.app.files.provenance import PlaceGravity, Provenance, software_version
from feltload.app.jobs.predicting.inputs import read_vary, read_way
from feltload.calibration import (
    FrictionRange,
    Gravity,
    Judgement,
    Prediction,
    Target,
    Variant,
    Varied,
    judge_profile,
    judgement_record,
    parse_machine,
    predict_profile,
    predict_variants,
)
from feltload.core import Floats
from feltload.signal import Travel, profile_summary


@dataclass(frozen=True)
class PredictedMachine:
    """What one machine file predicts.

    Attributes
    ----------
    prediction : Prediction
    provenance : Provenance
    travel_stated : bool
        Whether somebody said how far it travels.
    varied : tuple of Varied
        Dimensions that take several values.
    variants : tuple of Variant
        Every combination of them.
    judgements : tuple of Judgement
        Of the targets.
    """

    prediction: Prediction
    provenance: Provenance
    travel_stated: bool
    varied: tuple[Varied, ...] = ()
    variants: tuple[Variant, ...] = ()
    judgements: tuple[Judgement, ...] = ()

    @property
    def travel(self) -> Travel:
        """That it was predicted over."""
        return self.prediction.estimate.travel


def read_loads(written: Sequence[str]) -> Floats:
    """Loads of `--load`, ascending, each once.

    Raises
    ------
    InputError
        One is no load.
    """
    return np.unique([read_load(text, "--load").value for text in written])


def predict_file(
    path: Path,
    *,
    loads_kg: Floats,
    travel: str | None = None,
    friction: FrictionRange | None = None,
    vary: Sequence[str] = (),
    targets: Sequence[Target] = (),
    gravity: Gravity | None = None,
) -> PredictedMachine:
    """Predict what a machine file's machine will ask for.

    Raises
    ------
    FeltloadError
        Names what is wrong, and where.
    """
    text = read_machine_text(path)
    machine = parse_machine(text, str(path))
    varied = tuple(read_vary(each, machine) for each in vary)
    keys = [each.parameter.key.dotted for each in varied]
    if len(set(keys)) < len(keys):
        raise UsageError(
            f"{', '.join(keys)}: one is varied twice", where="--vary", remedy="give each dimension once"
        )
    travel_rad, stated = read_way(travel, machine)
    prediction = predict_profile(
        machine, travel_rad=travel_rad, loads_kg=loads_kg, gravity=gravity, friction=friction
    )
    estimate = prediction.estimate
    q = estimate.angle_rad - estimate.start_angle_rad
    return PredictedMachine(
        prediction,
        Provenance(
            feltload=software_version(),
            recordings=(),
            machine_toml=text,
            gravity=PlaceGravity.of(prediction.gravity),
        ),
        stated,
        varied,
        predict_variants(machine, varied, q, loads_kg, prediction.gravity.value) if varied else (),
        judge_profile(estimate, targets),
    )


def prediction_record(predicted: PredictedMachine) -> dict[str, object]:
    """A prediction for programs: what `profile.json` holds, targets, and what each variant does."""
    prediction, travel = predicted.prediction, predicted.travel
    loads = prediction.estimate.loads_kg
    return {
        **profile_summary(prediction.estimate),
        "travel_stated": predicted.travel_stated,
        "leverage": {"start": float(prediction.arms.leverage[0]), "end": float(prediction.arms.leverage[-1])},
        "targets": [judgement_record(each, travel) for each in predicted.judgements],
        "variants": [
            {
                **{
                    key.dotted: value / variant.machine.parameter(key).per_unit
                    for key, value in variant.values.items()
                },
                "loads": [
                    {
                        "load_kg": float(load),
                        "start_n": float(force[0]),
                        "peak_n": float(np.max(force)),
                        "end_n": float(force[-1]),
                    }
                    for load, force in zip(loads, variant.static_n, strict=True)
                ],
            }
            for variant in predicted.variants
        ],
    }


def variants_frame(predicted: PredictedMachine) -> pd.DataFrame:
    """One row a variant, load and position: the varied dimensions in their units, position, and the force at rest."""
    blocks = []
    for variant in predicted.variants:
        named = {
            f"{each.parameter.key.dotted} [{each.parameter.unit or '1'}]": variant.values[each.parameter.key]
            / each.parameter.per_unit
            for each in predicted.varied
        }
        places = variant.travel.columns(variant.travel.angle_rad)
        for load, row in zip(predicted.prediction.estimate.loads_kg, variant.static_n, strict=True):
            blocks.append(pd.DataFrame({**named, "load_kg": float(load), **places, "static_n": row}))
    return pd.concat(blocks, ignore_index=True)


def arms_frame(predicted: PredictedMachine) -> pd.DataFrame:
    """One row a position: moment arms, and the felt mass at each load."""
    arms, estimate = predicted.prediction.arms, predicted.prediction.estimate
    return pd.DataFrame(
        {
            **predicted.travel.columns(estimate.angle_rad),
            "handle_arm_mm": 1e3 * arms.handle_m,
            "load_arm_mm": 1e3 * arms.load_m,
            "leverage": arms.leverage,
            "own_moment_nm": arms.own_nm,
            **{
                f"felt_mass_{load:g}kg_kg": row
                for load, row in zip(estimate.loads_kg, arms.felt_mass_kg, strict=True)
            },
        }
    )
