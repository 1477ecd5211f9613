"""What agreement.json holds, from an agreement written down by hand."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from feltload.calibration.agreement.contrasts import ContrastTest
from feltload.calibration.agreement.explanation import CauseSet, CurvePoint, Explanation, LoadInstead
from feltload.calibration.agreement.loads import FittedLoad
from feltload.calibration.agreement.record import agreement_record, explanation_record, write_agreement
from feltload.calibration.agreement.result import Agreement
from feltload.calibration.agreement.survey_fit import FittedDimension
from feltload.calibration.agreement.swing import Swing, SwingCheck
from feltload.calibration.machine.parameters import Parameter, ParameterKey
from feltload.signal import Travel

PEG, ARM = ParameterKey("radius", "plates"), ParameterKey("angle", "arm")
# Surveyed 270(3) mm, fitted 285(1) mm.
DIMENSION = FittedDimension(
    Parameter(PEG, 0.27, 0.003, "mm", 0.001, u_is_default=False, blunder=0.05), 0.285, 0.001
)
AGREEMENT = Agreement(
    load_kg=np.array([20.0, 40.0]),
    angle_rad=np.radians([10.0, 30.123456]),
    measured_n=np.array([302.0, -105.0]),
    measured_u_n=np.array([2.0, 6.0]),
    model_n=np.array([310.0, -109.0]),
    model_u_n=np.array([1.50001, 2.5]),
    fitted_model_n=np.array([301.00002, -108.0]),
    fitted=(DIMENSION,),
    explanation=Explanation(causes=(DIMENSION,), load_instead=LoadInstead("plates", 0.055)),
    test=ContrastTest(4.0, 2.5, 0.001),
    first_order=True,
    g_m_s2=9.8123456,
    g_u_m_s2=0.0123456,
    default_u=(ARM,),
    travel=Travel(np.radians([10.0, 50.0])),
)


def test_every_figure_is_in_the_unit_of_its_name() -> None:
    record = agreement_record(AGREEMENT)
    assert {name: record[name] for name in ("load_kg", "angle_deg", "travel_percent", "measured_n")} == {
        "load_kg": [20.0, 40.0],
        "angle_deg": [10.0, 30.1235],
        "travel_percent": [0.0, 50.3086],
        "measured_n": [302.0, -105.0],
    }
    # E_n of (302 - 310) / 5 and 4 / 13; k = 2 for expanded uncertainties, 1.96 for bands.
    assert record["en"] == pytest.approx([-1.6, 4.0 / 13.0], rel=1e-5)
    assert record["en_max"] == pytest.approx(1.6, rel=1e-5)
    assert record["measured_expanded_u_n"] == [4.0, 12.0]
    assert record["model_expanded_u_n"] == pytest.approx([3.00002, 5.0])
    # Figures to read beside a curve have four decimals.
    assert record["model_u95_n"] == [2.94, 4.9]
    assert (record["residual_n"], record["residual_u95_n"]) == ([1.0, 3.0], [3.92, 11.76])
    # 1.96 times 2.5 and 6.5 N: 8.82 N of 302 N.
    assert record["band_percent"] == 2.921
    assert (record["g_m_s2"], record["g_u_m_s2"]) == (9.81235, 0.01235)
    assert (record["verdict"], record["p_value"], record["first_order"]) == ("differs", 0.001, True)
    assert (record["changed"], record["explained"]) == (["plates.radius"], True)
    assert record["default_uncertainty"] == ["arm.angle"]
    assert record["free_swing"] is None


def test_a_fitted_dimension_is_in_the_unit_that_was_written() -> None:
    (record,) = agreement_record(AGREEMENT)["fitted"]
    assert record == {
        "name": "plates.radius",
        "surveyed": pytest.approx(270.0),
        "surveyed_u": pytest.approx(3.0),
        "fitted": pytest.approx(285.0),
        "fitted_u": pytest.approx(1.0),
        "unit": "mm",
        "shift_in_u": pytest.approx(5.0),
    }


def test_an_explanation_keeps_its_parts() -> None:
    record = explanation_record(AGREEMENT)
    assert record["kind"] == "dimensions-moved"
    assert record["largest"] == {
        "load_kg": 20.0,
        "angle_deg": pytest.approx(10.0),
        "travel_percent": pytest.approx(0.0, abs=1e-9),
        "difference_n": -8.0,
    }
    assert record["causes"] == [
        {
            "name": "plates.radius",
            "shift_si": pytest.approx(0.015),
            "u_si": 0.001,
            "shift_in_u": pytest.approx(5.0),
        }
    ]
    assert (record["load_instead"], record["remaining"]) == ({"part": "plates", "relative": 0.055}, None)
    other = Explanation(
        loads=(FittedLoad(20.0, 25.1, 0.3),),
        tied=(CauseSet((PEG,), (40.0,)), CauseSet((ARM,))),
        remaining=CurvePoint(40.0, 0.2, -7.0),
    )
    record = explanation_record(replace(AGREEMENT, explanation=other))
    assert record["kind"] == "beyond-dimensions"
    assert record["loads"] == [{"stated_kg": 20.0, "looks_like_kg": 25.1, "u_kg": 0.3}]
    assert record["tied"] == [["plates.radius", "load of 40 kg"], ["arm.angle"]]
    assert record["remaining"] == {
        "load_kg": 40.0,
        "angle_deg": pytest.approx(11.459156),
        "travel_percent": pytest.approx(3.64789, abs=1e-5),
        "difference_n": -7.0,
    }
    assert record["load_instead"] is None


def test_a_free_swing_stands_beside_it(tmp_path: Path) -> None:
    """Measured 20.5(3), surveyed 20.0(4) 1/s²: 0.5 over twice 0.5."""
    check = SwingCheck(Swing(20.5, 0.3, 0.1, np.radians(12.3456), 8), 20.0, 0.4)
    stored = json.loads(write_agreement(tmp_path, AGREEMENT, check).read_text(encoding="utf-8"))
    assert stored["free_swing"] == {
        "agrees": True,
        "en": pytest.approx(0.5),
        "moment_over_inertia_per_s2": 20.5,
        "u_per_s2": 0.3,
        "surveyed_per_s2": 20.0,
        "surveyed_u_per_s2": 0.4,
        "amplitude_deg": 12.35,
        "periods": 8,
    }
