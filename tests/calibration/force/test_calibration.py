"""Load-cell certificates from readings files of cells whose truth is known."""

import datetime as dt
from pathlib import Path

import numpy as np
import pytest

from feltload.acquisition.certificates.certificate import certificate_json, parse_certificate
from feltload.acquisition.errors import CertificateError
from feltload.app.pages.certificate.page import certificate_page
from feltload.calibration.errors import OverloadError, ReadingsError
from feltload.calibration.force.calibration import calibrate_force
from feltload.calibration.force.facts import ForceCertificateFact

HEAD = (
    "# serial: T-1\n# date: 2026-03-02\n# latitude: 52.2 deg\n# height: 20 m\n# rated capacity: 2 kN\n"
    "# temperature: 21 degC\n# pressure: 1013 hPa\n# humidity: 45 %\n# mass uncertainty: 0.002 %\n"
    "# weight density: 8000(50) kg/m3\n"
)


def cell_file(path, *, seed=1, noise=3.0, hysteresis=0.0, falling=True, mass=range(10, 101, 10), head=HEAD):
    rng = np.random.default_rng(seed)
    lines = ["series,direction,position_deg,mass,reading"]
    masses = list(mass)

    def reading(kg, extra=0.0):
        counts = 12000 + 8300.0 * kg + 0.08 * kg**2 + extra
        return f"{counts + rng.normal(0, noise):.0f}"

    for series, position in ((1, 0), (2, 0), (3, 120), (4, 240)):
        lines.append(f"{series},rising,{position},0,{reading(0)}")
        lines += [f"{series},rising,{position},{kg} kg,{reading(kg)}" for kg in masses]
        if falling:
            top = masses[-1]
            lines += [
                f"{series},falling,{position},{kg} kg,"
                + reading(kg, hysteresis * 8300 * top * 4 * kg / top * (1 - kg / top))
                for kg in masses[-2::-1]
            ]
            lines.append(f"{series},falling,{position},0,{reading(0)}")
    path.write_text(head + "\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_truth_comes_back_and_the_file_reads_again(tmp_path):
    head = HEAD + "# gravity: 9.81234(2) m/s^2\n"
    certificate = calibrate_force(cell_file(tmp_path / "r.csv", head=head))
    kg = np.linspace(10, 100, 30)
    force = certificate.force_n(12000 + 8300 * kg + 0.08 * kg**2)
    # The curve at zero reading is left to the tare.
    truth = kg * certificate.gravity_m_s2 * (1 - 1.2 / 8000)
    assert np.all(np.abs(force - truth) < 3 * certificate.u_force_n(truth))
    assert len(certificate.coefficients_n) == 3
    assert certificate.classes[0].class_name == "00"
    assert certificate.classes[1].class_name == "0.5"
    assert certificate.reading_of(force) == pytest.approx(12000 + 8300 * kg + 0.08 * kg**2, rel=1e-12)
    assert parse_certificate(certificate_json(certificate)) == certificate
    assert certificate.expires_on == dt.date(2027, 3, 2)


def test_normal_gravity_is_not_good_enough_for_the_best_class(tmp_path):
    # ISO 376 class 00 asks for applied forces within 0.01 %; the local anomaly alone may be half of that.
    certificate = calibrate_force(cell_file(tmp_path / "r.csv"))
    assert certificate.classes[0].class_name == "0.5"
    assert certificate.gravity_u_m_s2 == pytest.approx(5e-4, rel=0.02)


def test_hysteresis_lowers_the_class(tmp_path):
    # Falling lies 4 h k (1 - k) of the span above rising, the curve half of that: v = 4 h (1 - k), f_c = -2 h (1 - k).
    certificate = calibrate_force(cell_file(tmp_path / "r.csv", hysteresis=1.5e-3))
    for step, k in zip(certificate.steps[1:-1], np.arange(0.2, 1.0, 0.1), strict=True):
        assert step.reversibility_percent == pytest.approx(0.6 * (1 - k), abs=0.01)
        assert step.interpolation_percent == pytest.approx(-0.3 * (1 - k), abs=0.01)
    # Class 2 allows f_c of 0.2 %: from k = 0.4 on, 40 kg. Class 1 allows 0.1 %: from 0.7, which is not half the range.
    result = certificate.classes[0]
    assert result.class_name == "2"
    assert result.from_n == pytest.approx(40.0 * 9.81, rel=1e-3)


def test_ten_times_too_large_is_refused_and_can_be_left_out(tmp_path):
    path = cell_file(tmp_path / "r.csv")
    lines = path.read_text(encoding="utf-8").splitlines()
    lines[15] = lines[15] + "0"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    with pytest.raises(ReadingsError, match=r"row 16.*ten times too large") as caught:
        calibrate_force(path)
    assert caught.value.rows == (16,)
    assert "more" not in str(caught.value)
    certificate = calibrate_force(path, exclude_rows=[16])
    assert [r.row for r in certificate.readings if r.excluded] == [16]


@pytest.mark.parametrize("absent", ["serial", "date"])
def test_a_certificate_without_serial_or_date_is_refused(tmp_path, absent):
    head = "".join(line + "\n" for line in HEAD.splitlines() if not line.startswith(f"# {absent}:"))
    with pytest.raises(ReadingsError, match=rf'no {absent} stated; add "# {absent}: ..."'):
        calibrate_force(cell_file(tmp_path / "r.csv", head=head))


def test_a_row_that_is_not_there_cannot_be_left_out(tmp_path):
    with pytest.raises(ReadingsError, match="row 9999 to exclude is not in the file"):
        calibrate_force(cell_file(tmp_path / "r.csv"), exclude_rows=[16, 9999])


def test_overload_is_refused_with_the_caution(tmp_path):
    head = HEAD.replace("2 kN", "500 N")
    with pytest.raises(OverloadError, match=r"rated 500 N.*keep clear of hung weights"):
        calibrate_force(cell_file(tmp_path / "r.csv", head=head))


def test_the_rated_capacity_itself_may_be_hung(tmp_path):
    path = tmp_path / "r.csv"
    rows = "".join(f"1,rising,{force},{10 * force}\n" for force in (0, 100, 200, 300, 400, 500))
    path.write_text(
        "# serial: T-1\n# date: 2026-03-02\n# rated capacity: 500 N\nseries,direction,force_n,reading\n"
        + rows
    )
    assert calibrate_force(path, allow_one_direction=True).highest_n == 500.0


def test_one_direction_and_too_few(tmp_path):
    path = cell_file(tmp_path / "r.csv", falling=False)
    with pytest.raises(ReadingsError, match="one direction only"):
        calibrate_force(path)
    certificate = calibrate_force(path, allow_one_direction=True)
    assert ForceCertificateFact.ONE_DIRECTION in [fact.kind for fact in certificate.classes[0].missing]
    with pytest.raises(ReadingsError, match="too few points"):
        calibrate_force(cell_file(tmp_path / "few.csv", mass=[10, 20, 30]))
    # Less than a hundred-thousandth apart is one load.
    with pytest.raises(ReadingsError, match="4 different loads"):
        calibrate_force(cell_file(tmp_path / "few.csv", mass=[10, 20, 30, 40, 40.0001]))


def test_unknown_place_and_weights_cost_the_class(tmp_path):
    head = "# serial: T-1\n# date: 2026-03-02\n"
    certificate = calibrate_force(cell_file(tmp_path / "r.csv", head=head))
    assert certificate.classes[0].class_name is None
    assert {fact.kind for fact in certificate.warnings} == {
        ForceCertificateFact.WEIGHTS_WITHOUT_U,
        ForceCertificateFact.LATITUDE_NOT_STATED,
    }


def test_expired_or_another_serial_is_refused_with_a_way_out(tmp_path):
    certificate = calibrate_force(cell_file(tmp_path / "r.csv"))
    late = dt.date(2027, 3, 3)
    with pytest.raises(CertificateError, match=r"expired on 2027-03-02.*calibrate again"):
        certificate.require_valid(on=late)
    certificate.require_valid(on=late, accept_expired=True, serial="t-1")
    with pytest.raises(CertificateError, match="for serial T-1"):
        certificate.require_valid(serial="T-2")


def test_page_shows_what_a_laboratory_looks_for(tmp_path):
    page = certificate_page(calibrate_force(cell_file(tmp_path / "r.csv")))
    for wanted in ("T-1", "2026-03-02", "2027-03-02", "ISO 376", "ISO 7500-1", "ASTM E74", "k = 2", "<svg"):
        assert wanted in page


def test_shipped_example_gives_what_its_readme_says():
    # Truth of the invented cell: 850 counts/N, bent by 1.5e-4 of the square, around the zero.
    shipped = Path(__file__).parents[3] / "recordings" / "cell-readings.csv"
    certificate = calibrate_force(shipped)
    assert [r.class_name for r in certificate.classes] == ["1", "0.5"]
    assert not any(r.missing for r in certificate.classes)
    assert "invented" in certificate.notes[0].figures["text"]
    force = np.linspace(100, 980, 30)
    counts = 850.0 * (force + 1000 * 1.5e-4 * (force / 1000) ** 2)
    error = certificate.force_n(certificate.zero_reading + counts) - force
    assert np.all(np.abs(error) < 2 * certificate.u_force_n(force))
