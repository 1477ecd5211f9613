"""Predicted results of machine files."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from feltload.app.errors import UsageError
from feltload.app.files.inputs import read_load, read_machine_text
from feltload.app.files.provenance import (
    PlaceGravity,
    PredictionAsked,
    Provenance,
    load_provenance,
    software_version,
)
from feltload.app.jobs.predicting.inputs import read_vary, read_way
from feltload.app.jobs.predicting.targets import load_targets
from feltload.calibration import (
    FrictionRange,
    Gravity,
    Judgement,
    Machine,
    Prediction,
    Target,
    Variant,
    Varied,
    judge_profile,
    judgement_record,
    moment_arms,
    parse_machine,
    predict_profile,
    predict_variants,
)
from feltload.core import Floats
from feltload.signal import Travel, load_results, profile_summary


@dataclass(frozen=True)
class PredictedMachine:
    """What one machine file predicts.

    Attributes
    ----------
    prediction : Prediction
    provenance : Provenance
    varied : tuple of Varied
        Dimensions that take several values.
    variants : tuple of Variant
        Every combination of them.
    judgements : tuple of Judgement
        Of the targets.
    """

    prediction: Prediction
    provenance: Provenance
    varied: tuple[Varied, ...] = ()
    variants: tuple[Variant, ...] = ()
    judgements: tuple[Judgement, ...] = ()

    @property
    def travel(self) -> Travel:
        """That it was predicted over."""
        return self.prediction.estimate.travel

    @property
    def travel_stated(self) -> bool:
        """Whether somebody said how far it travels."""
        return self.provenance.prediction is not None and self.provenance.prediction.travel_stated


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
    varied = _read_varied(vary, machine)
    travel_rad, stated = read_way(travel, machine)
    prediction = predict_profile(
        machine, travel_rad=travel_rad, loads_kg=loads_kg, gravity=gravity, friction=friction
    )
    provenance = Provenance(
        feltload=software_version(),
        recordings=(),
        prediction=PredictionAsked(travel_stated=stated, vary=tuple(vary)),
        machine_toml=text,
        gravity=PlaceGravity.of(prediction.gravity),
    )
    return _predicted(prediction, provenance, varied, targets)


def load_prediction(directory: Path, targets: Sequence[Target] = ()) -> PredictedMachine:
    """A prediction from its own files, with the targets kept beside it, or with others.

    Raises
    ------
    FeltloadError
        A file is missing or damaged, or of a version that did not keep what it was asked for.
    """
    estimate, provenance = load_results(directory), load_provenance(directory)
    asked, gravity = provenance.prediction, provenance.gravity
    if asked is None or provenance.machine_toml is None or gravity is None:
        raise UsageError(
            "is a prediction that does not keep how it was asked for",
            where=str(directory),
            remedy="run feltload predict again",
        )
    machine = parse_machine(provenance.machine_toml, str(directory))
    q = estimate.angle_rad - estimate.start_angle_rad
    prediction = Prediction(
        machine, estimate, moment_arms(machine, q, estimate.loads_kg, gravity.value_m_s2), gravity.gravity()
    )
    varied = _read_varied(asked.vary, machine)
    return _predicted(prediction, provenance, varied, targets or load_targets(directory))


def _read_varied(written: Sequence[str], machine: Machine) -> tuple[Varied, ...]:
    varied = tuple(read_vary(each, machine) for each in written)
    keys = [each.parameter.key.dotted for each in varied]
    if len(set(keys)) < len(keys):
        raise UsageError(
            f"{', '.join(keys)}: one is varied twice", where="--vary", remedy="give each dimension once"
        )
    return varied


def _predicted(
    prediction: Prediction, provenance: Provenance, varied: tuple[Varied, ...], targets: Sequence[Target]
) -> PredictedMachine:
    estimate = prediction.estimate
    q = estimate.angle_rad - estimate.start_angle_rad
    variants = (
        predict_variants(prediction.machine, varied, q, estimate.loads_kg, prediction.gravity)
        if varied
        else ()
    )
    return PredictedMachine(prediction, provenance, varied, variants, judge_profile(estimate, targets))


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
                        "mean_u95_n": float(np.mean(half)),
                        "differs_over": float(np.mean(differs)),
                    }
                    for load, force, half, differs in zip(
                        loads, variant.static_n, variant.static_u95_n, variant.differs, strict=True
                    )
                ],
            }
            for variant in predicted.variants
        ],
    }


def variants_frame(predicted: PredictedMachine) -> pd.DataFrame:
    """One row a variant, load and position: varied dimensions in their units, position, force, difference, bands."""
    blocks = []
    for variant in predicted.variants:
        named = {
            f"{each.parameter.key.dotted} [{each.parameter.unit or '1'}]": variant.values[each.parameter.key]
            / each.parameter.per_unit
            for each in predicted.varied
        }
        places = variant.travel.columns(variant.travel.angle_rad)
        for k, load in enumerate(predicted.prediction.estimate.loads_kg):
            curves = {
                "static_n": variant.static_n[k],
                "static_u95_n": variant.static_u95_n[k],
                "difference_n": variant.difference_n[k],
                "difference_u95_n": variant.difference_u95_n[k],
            }
            blocks.append(pd.DataFrame({**named, "load_kg": float(load), **places, **curves}))
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
