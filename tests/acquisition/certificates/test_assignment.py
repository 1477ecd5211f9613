"""A certificate finds its sensor: as given, by serial number, by its file's name, by its kind."""

from __future__ import annotations

import json

import pytest

from feltload.acquisition.certificates.assignment import GivenCertificate, SensorName, assign_certificates
from feltload.acquisition.errors import CertificateError

LEFT, RIGHT = SensorName("left", "force", "LC-1"), SensorName("right", "force", "LC-2")
ARM = SensorName("arm", "inertial")


def given(serial: str = "LC-1", name: str = "a", stream: str | None = None) -> GivenCertificate:
    text = json.dumps(
        {
            "kind": "force",
            "serial": serial,
            "calibrated_on": "2020-01-01",
            "expires_on": "2030-01-01",
            "gravity_m_s2": 9.812,
            "gravity_u_m_s2": 0.0001,
            "reading_unit": "counts",
            "reading_scale": 200.0,
            "zero_reading": 0.0,
            "coefficients_n": [0.0, 1.0],
            "covariance_n2": [[0.0, 0.0], [0.0, 1e-6]],
            "lowest_n": 10.0,
            "highest_n": 500.0,
            "budget": [],
            "lower_limit": {"residual_sd_n": 0.01, "factor_n": 0.024},
        }
    )
    return GivenCertificate(text, name, stream, f"{name}.json")


def test_by_serial_number_whatever_the_file_is_called() -> None:
    left, right = given("lc-1 ", "right"), given("LC-2", "left")
    assert assign_certificates([left, right], (LEFT, RIGHT, ARM)) == {"left": left.text, "right": right.text}


def test_by_name_or_kind_where_no_serial_number_is_stated() -> None:
    one, two = SensorName("left", "force"), SensorName("right", "force", certificate="cell-2")
    named, kept = given(name="left"), given("LC-2", "cell-2")
    assert assign_certificates([named, kept], (one, two, ARM)) == {"left": named.text, "cell-2": kept.text}
    assert assign_certificates([given(name="x")], (one, ARM)) == {"left": given().text}


def test_for_the_stream_it_is_given_for() -> None:
    one, two = SensorName("left", "force"), SensorName("right", "force")
    assert assign_certificates([given(stream="right")], (one, two)) == {"right": given().text}


@pytest.mark.parametrize(
    ("certificates", "sensors", "said"),
    [
        (
            [given("LC-9")],
            (LEFT, RIGHT),
            r"--certificate a\.json: .*serial LC-9, and no force sensor has it; the streams",
        ),
        (
            [given("LC-9", stream="right")],
            (LEFT, RIGHT),
            r"a\.json: the certificate is for serial LC-9, the sensor in use",
        ),
        ([given(stream="arm")], (LEFT, ARM), "for a force sensor, arm is inertial"),
        ([given(stream="top")], (LEFT, ARM), r'no stream "top"; the streams are left \(serial LC-1\), arm'),
        ([given()], (ARM,), "there is no force sensor in the recording; leave it out"),
        ([given(), given(name="b")], (LEFT, RIGHT), "two certificates for the stream left"),
        (
            [given()],
            (SensorName("left", "force"), SensorName("right", "force")),
            r"several force sensors \(left, right\), .* write --certificate left=FILE",
        ),
    ],
)
def test_what_cannot_be_told_gets_one_line(certificates, sensors, said) -> None:
    with pytest.raises(CertificateError, match=said) as caught:
        assign_certificates(certificates, sensors)
    assert "\n" not in str(caught.value)
