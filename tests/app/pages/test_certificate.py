"""The page of a certificate: facts as sentences, and certificates of an older format with their own."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from feltload.acquisition import (
    parse_certificate,
)
from feltload.app.pages.certificate.page import certificate_page
from feltload.calibration import calibrate_force
from made_certificate import made_certificate

STORED = Path(__file__).parents[2] / "acquisition" / "stored"


SENTENCES = (
    "latitude not stated: standard gravity, good to 0.15 %",
    "invented",
    "2 of 3 series",
    "scatter of one reading",
    "Polynomial of degree 1: no higher degree passes the F test of ASTM E74 A1 over 10 loads.",
)


def test_facts_are_sentences_on_the_page_and_kinds_in_the_file() -> None:
    certificate = made_certificate()
    page = certificate_page(certificate)
    for sentence in SENTENCES:
        assert sentence in page
    text = certificate.model_dump_json()
    assert json.loads(text)["warnings"][0]["kind"] == "latitude-not-stated"
    assert parse_certificate(text) == certificate


def test_a_certificate_with_sentences_in_it_has_the_same_page() -> None:
    older = json.loads(made_certificate().model_dump_json())
    older["warnings"], older["notes"] = [SENTENCES[0]], [SENTENCES[1]]
    older["classes"][0]["missing"] = [SENTENCES[2]]
    older["budget"][0]["source"] = SENTENCES[3]
    older["degree_evidence"] = "degree 1: no higher degree passes the F test of ASTM E74 A1 over 10 loads"
    del older["degree_test"]
    assert certificate_page(parse_certificate(json.dumps(older))) == certificate_page(made_certificate())


def test_a_stored_inertial_certificate_keeps_its_sentence() -> None:
    stored = parse_certificate(
        (STORED / "inertial-certificate-without-turns.json").read_text(encoding="utf-8")
    )
    assert (
        "gyro scale of x, y not calibrated: no known turn about it, taken as good to 1 %"
        in certificate_page(stored)
    )


LABORATORY = """# loading: compression
# preloads: 3
# weights: set W-7, 10 plates
# traceability: certificate 2025-118
# fittings: two load buttons
# indicator: converter no. 5
"""


def test_a_laboratory_finds_what_iso_376_asks_a_certificate_for(tmp_path: Path) -> None:
    """Contents of a calibration certificate, ISO 376:2011, clause 9, from memory."""
    shipped = Path(__file__).parents[3] / "recordings" / "cell-readings.csv"
    path = tmp_path / "readings.csv"
    path.write_text(LABORATORY + shipped.read_text(encoding="utf-8"), encoding="utf-8")
    certificate = calibrate_force(path)
    page = certificate_page(certificate)
    for words in (
        *("compression", "3 to the highest load", "set W-7, 10 plates", "certificate 2025-118"),
        *(
            "two load buttons",
            "converter no. 5",
            "1 counts (0.0012 N)",
            "not accredited",
            "Deflection, counts",
        ),
    ):
        assert words in page
    rising = [
        (row.applied_n, row.reading, row.series) for row in certificate.readings if row.direction == "rising"
    ]
    zero = {series: reading for force, reading, series in rising if force == 0}
    top = [reading - zero[series] for force, reading, series in rising if force > 981]
    # Three positions of the cell, the first of two series at 0 degrees: one mean value each.
    assert certificate.steps[-1].mean_deflection == pytest.approx(sum(top) / len(top), rel=2e-5)
    bare = certificate_page(calibrate_force(shipped))
    assert bare.count("not stated") >= 6
