"""Differences for programs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from feltload.app.jobs.comparing.common_positions import places
from feltload.app.jobs.comparing.comparison import Comparison
from feltload.app.jobs.comparing.pairs import LoadDifference, Pair
from feltload.app.jobs.comparing.results import Result
from feltload.coaching import CurveDifference
from feltload.signal import describe_shape, mean_friction_n, tight_spots


def difference_record(
    difference: CurveDifference, at: Mapping[str, Sequence[float]], *, unit: str = "n"
) -> dict[str, object]:
    """A difference at the positions `at`, a list each; `unit` ends the names of its figures."""
    gap, band = difference.values, difference.u95
    largest = int(np.argmax(np.abs(gap)))
    return {
        f"difference_{unit}": gap.tolist(),
        f"difference_u95_{unit}": band.tolist(),
        f"difference_curve_u95_{unit}": difference.curve_u95.tolist(),
        f"mean_{unit}": difference.mean,
        f"mean_u95_{unit}": difference.mean_u95,
        "largest": {
            **{name: values[largest] for name, values in at.items()},
            f"difference_{unit}": float(gap[largest]),
            f"u95_{unit}": float(band[largest]),
        },
        "differs": bool(np.any(difference.established)),
    }


def comparison_record(comparison: Comparison) -> dict[str, object]:
    """The comparison for programs."""
    return {
        "by": comparison.by,
        "scaled_by": comparison.scaled_by,
        "curves_together": comparison.curves,
        "profiles": [
            _profile(result, index) for result in comparison.results for index in comparison.shown(result)
        ],
        "differences": [_pair(comparison, pair) for pair in comparison.pairs if pair.loads],
        "repeatability": [
            {
                "load_kg": repeat.load_kg,
                "measurements": repeat.measurements,
                "sd_n": repeat.repeatability.sem,
                "minimal_difference_n": repeat.repeatability.minimal_difference,
            }
            for repeat in comparison.repeats
        ],
    }


def _profile(result: Result, index: int) -> dict[str, object]:
    shape, travel = describe_shape(result.estimate, index), result.estimate.travel
    friction_n, _ = mean_friction_n(result.estimate, index)
    return {
        "name": result.name,
        "machine": result.estimate.machine_name,
        "side": result.side,
        "load_kg": shape.load_kg,
        "shape": shape.shape,
        "peak": {**travel.record(shape.peak_angle_rad), "force_n": shape.peak_n},
        "drop_off_percent": shape.drop_off_percent,
        "friction_n": None if np.isnan(friction_n) else friction_n,
        "tight_spots": [
            {**travel.record(spot.angle_rad), "friction_n": spot.friction_n}
            for spot in tight_spots(result.estimate, index)
        ],
    }


def _pair(comparison: Comparison, pair: Pair) -> dict[str, object]:
    by = None if comparison.same_machine else comparison.by
    travel = comparison.results[0].estimate.travel
    at = places(pair.loads[0].force.angle_rad, travel, by)

    def load(one: LoadDifference) -> dict[str, object]:
        unit = "n" if comparison.scaled_by is None else "share"
        places_here = places(one.force.angle_rad, travel, by)
        friction = one.friction
        return {
            "load_kg": one.load_kg,
            "other_load_kg": one.other_load_kg,
            **places_here,
            **difference_record(one.force, places_here, unit=unit),
            "friction": None
            if friction is None
            else {
                **(rubbing := places(friction.angle_rad, travel, by)),
                **difference_record(friction, rubbing),
                "mean_differs": friction.mean_established,
            },
        }

    return {
        "first": comparison.results[0].name,
        "second": pair.name,
        **at,
        "loads": [load(one) for one in pair.loads],
        "assumed": [fact.to_dict() for fact in pair.assumed],
    }
