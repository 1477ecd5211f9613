"""A certificate that was changed by hand contradicts the readings in it, and is refused in one line."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import numpy as np
import pytest

from feltload.acquisition import CertificateError, ForceCertificate, parse_certificate
from feltload.calibration import CertificateFact, calibrate_force, check_certificate
from feltload.core import Severity

READINGS = Path(__file__).parents[3] / "recordings" / "cell-readings.csv"


@pytest.fixture(scope="module")
def stated() -> dict:
    return json.loads(calibrate_force(READINGS).model_dump_json())


def loaded(values: dict) -> ForceCertificate:
    certificate = parse_certificate(json.dumps(values), where="cell.json")
    assert check_certificate(certificate, where="cell.json") == ()
    return certificate


def refusal(values: dict) -> str:
    with pytest.raises(CertificateError) as caught:
        loaded(values)
    assert str(caught.value).startswith("cell.json: ")
    return str(caught.value)


def test_it_passes_as_it_was_written(stated):
    assert loaded(stated).serial == "C-1042"


@pytest.mark.parametrize("series", [1, 2])
def test_it_passes_with_rows_left_out_and_with_one_direction(tmp_path, series):
    lines = READINGS.read_text(encoding="utf-8").splitlines()
    kept = [
        line
        for line in lines
        if line[:1] not in "23" or (series == 2 and line.startswith("2") and "rising" in line)
    ]
    kept = kept if series == 2 else [line for line in kept if "falling" not in line]
    path = tmp_path / "readings.csv"
    path.write_text("\n".join(kept) + "\n", encoding="utf-8")
    made = calibrate_force(path, exclude_rows=[18], allow_one_direction=True)
    assert check_certificate(made, where="cell.json") == ()


def test_doubled_coefficients_are_told_with_both_forces(stated):
    """By hand once: 416 N for 208, and no word of it."""
    doubled = {**stated, "coefficients_n": [2 * value for value in stated["coefficients_n"]]}
    assert (
        "contradicts itself: its curve gives 1962.23 N where the readings give 981.114 N; take the file as"
        in refusal(doubled)
    )


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda c: {"zero_reading": 0.0}, "its zero is 0, that of the readings 11849.125"),
        (lambda c: {"reading_scale": 2 * c["reading_scale"]}, "its curve gives"),
        (lambda c: {"highest_n": 1500.0}, "its range is 98.1112 N to 1500 N"),
        (
            lambda c: {"coefficients_n": [*c["coefficients_n"][:1], 0.0]},
            "does not rise from zero to highest_n",
        ),
        (lambda c: {"lowest_n": c["highest_n"], "highest_n": c["lowest_n"]}, "lowest_n lies above highest_n"),
        (lambda c: {"covariance_n2": (-np.array(c["covariance_n2"])).tolist()}, "is no covariance"),
        (lambda c: {"covariance_n2": (0.1 * np.array(c["covariance_n2"])).tolist()}, "the covariance of its"),
        (lambda c: {"budget": [{**line, "u_n": 0.0} for line in c["budget"]]}, "in its budget is not that"),
        (lambda c: {"budget": []}, "in its budget is not that"),
        (
            lambda c: {"steps": [{**step, "reversibility_percent": 0.0} for step in c["steps"]]},
            "the relative errors of its steps",
        ),
        (
            lambda c: {"steps": [{**step, "u95_n": 0.001} for step in c["steps"]]},
            "its expanded uncertainties",
        ),
        (
            lambda c: {"readings": [{**row, "applied_n": 2 * row["applied_n"]} for row in c["readings"]]},
            "contradicts itself",
        ),
        (lambda c: {"readings": c["readings"][:3]}, "what it carries makes no certificate"),
        (
            lambda c: {"calibrated_on": "2999-01-01", "expires_on": "2999-12-31"},
            "is dated 2999-01-01, and today",
        ),
        (lambda c: {"expires_on": "2020-01-01"}, "expires_on lies before calibrated_on"),
    ],
)
def test_what_was_changed_is_named(stated, change, words):
    assert words in refusal({**stated, **change(stated)})


def test_dated_tomorrow_may_be_from_where_the_day_has_begun(stated):
    tomorrow = dt.date.today() + dt.timedelta(days=1)
    after = {
        "calibrated_on": tomorrow.isoformat(),
        "expires_on": (tomorrow + dt.timedelta(days=9)).isoformat(),
    }
    loaded({**stated, **after})


def test_without_readings_it_loads_and_that_is_stated(stated):
    certificate = parse_certificate(json.dumps({**stated, "readings": []}))
    (fact,) = check_certificate(certificate, where="cell.json")
    assert (fact.kind, fact.severity) == (CertificateFact.WITHOUT_READINGS, Severity.CAUTION)
    assert fact.figures == {"serial": "C-1042"}


def test_a_curve_of_before_hysteresis_was_apart_is_compared_by_its_forces(stated):
    older = {**stated, "degree_test": None, "degree_evidence": "degree 1", "budget": stated["budget"][:3]}
    loaded(older)
    assert "its curve gives" in refusal({**older, "coefficients_n": [2 * v for v in older["coefficients_n"]]})
