"""Calibration certificates as files, and their application to readings.

A certificate is computed once by the calibration layer and stored as JSON. Applying one never
touches a recording: raw readings stay as they arrived, and a later certificate applies to old ones.
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

import numpy as np
import pydantic
from numpy.typing import ArrayLike, NDArray
from pydantic import BaseModel, ConfigDict, Field

from feltload.acquisition.errors import CertificateError

FloatArray = NDArray[np.float64]
Vector3 = Annotated[list[float], Field(min_length=3, max_length=3)]
Matrix3 = Annotated[list[Vector3], Field(min_length=3, max_length=3)]


class Record(BaseModel):
    """Base of everything in a certificate file: no unknown keys, no silent change, no NaN."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Environment(Record):
    """Air around the calibration; absent values were not recorded."""

    temperature_c: float | None = None
    pressure_hpa: float | None = None
    humidity_percent: float | None = None


class Uncertainty(Record):
    """One line of an uncertainty budget: standard uncertainty = ``u_n`` plus ``u_relative`` times force."""

    source: str
    u_n: float = Field(default=0.0, ge=0)
    u_relative: float = Field(default=0.0, ge=0)


class ForceReading(Record):
    """One reading under dead weight, as used or left out.

    ``direction`` is "rising" or "falling"; ``reading`` is in the unit of the certificate; the residual is
    certificate minus applied force.
    """

    row: int
    series: str
    direction: Literal["rising", "falling"]
    position_deg: float | None = None
    applied_n: float
    reading: float
    residual_n: float
    excluded: bool = False


class StepErrors(Record):
    """Relative errors in percent of one force step; None where the loading did not show it.

    Names follow ISO 376 (b, b', f_c, v) and ISO 7500-1 (q, b, v).
    """

    force_n: float
    u95_n: float
    reproducibility_percent: float | None = None
    repeatability_percent: float | None = None
    interpolation_percent: float | None = None
    reversibility_percent: float | None = None
    indication_percent: float | None = None
    indication_spread_percent: float | None = None


class ClassResult(Record):
    """Outcome against one standard.

    ``class_name`` is None when no class is met. ``missing`` names errors that the loading could not
    show: with anything missing the class is an indication and not a classification.
    """

    standard: str
    class_name: str | None
    from_n: float | None = None
    to_n: float | None = None
    zero_percent: float | None = None
    creep_percent: float | None = None
    resolution_percent: float | None = None
    missing: list[str] = []


class LowerLimit(Record):
    """ASTM E74: residual standard deviation, lower limit factor and lowest force of each class.

    A class force is None where it lies above the highest force applied.
    """

    residual_sd_n: float = Field(ge=0)
    factor_n: float = Field(ge=0)
    class_a_from_n: float | None = None
    class_aa_from_n: float | None = None
    missing: list[str] = []


class Certificate(Record):
    """What every certificate states, whatever the sensor."""

    format: Literal["feltload-certificate-1"] = "feltload-certificate-1"
    serial: str = Field(min_length=1)
    sensor: str = ""
    number: str = ""
    calibrated_by: str = ""
    place: str = ""
    calibrated_on: dt.date
    expires_on: dt.date
    environment: Environment = Environment()
    gravity_m_s2: float = Field(gt=9.7, lt=9.9)
    gravity_u_m_s2: float = Field(ge=0)
    gravity_source: str = ""
    warnings: list[str] = []
    notes: list[str] = []

    def require_valid(
        self,
        *,
        serial: str | None = None,
        on: dt.date | None = None,
        accept_expired: bool = False,
        where: str | None = None,
    ) -> None:
        """Refuse a certificate of another sensor, or one used outside its dates.

        Parameters
        ----------
        serial : str, optional
            Serial number of the sensor in use; None where the stream does not state one.
        on : datetime.date, optional
            Day of the measurement.
        accept_expired : bool
            Accept a certificate past its expiry, for someone who says so on purpose.
        where : str, optional
            File named in the error.

        Raises
        ------
        CertificateError
            With the way out in its remedy.
        """
        if serial is not None and serial.strip().casefold() != self.serial.strip().casefold():
            raise CertificateError(
                f"the certificate is for serial {self.serial}, the sensor in use is {serial}",
                where=where,
                remedy=f"use the certificate of {serial}, or correct the serial number in the rig file",
            )
        if on is not None and on > self.expires_on and not accept_expired:
            raise CertificateError(
                f"the certificate expired on {self.expires_on}, the measurement is of {on}",
                where=where,
                remedy="calibrate again (a new certificate applies to old recordings too), "
                "or accept the expired one explicitly after a field check with one known weight",
            )


class ForceCertificate(Certificate):
    """Calibration of a load cell with its electronics: newtons from readings.

    Force in newtons is a polynomial in ``x = (reading - zero_reading) / reading_scale`` with
    ``coefficients_n`` in ascending powers, so the coefficients are all in newtons and well scaled.
    ``covariance_n2`` is theirs, from the scatter of the readings; what is common to all readings
    (weights, gravity, air) stands in ``budget``.
    """

    kind: Literal["force"] = "force"
    reading_unit: Literal["counts", "mV/V"]
    zero_reading: float
    reading_scale: float
    coefficients_n: list[float] = Field(min_length=2, max_length=4)
    covariance_n2: list[list[float]]
    lowest_n: float
    highest_n: float = Field(gt=0)
    rated_capacity_n: float | None = Field(default=None, gt=0)
    budget: list[Uncertainty]
    degree_evidence: str = ""
    lower_limit: LowerLimit
    classes: list[ClassResult] = []
    steps: list[StepErrors] = []
    readings: list[ForceReading] = []

    @pydantic.model_validator(mode="after")
    def _covariance_fits(self) -> ForceCertificate:
        m = len(self.coefficients_n)
        if len(self.covariance_n2) != m or any(len(row) != m for row in self.covariance_n2):
            raise ValueError(f"covariance_n2 must be {m} x {m}, like the {m} coefficients_n")
        if self.reading_scale == 0:
            raise ValueError("reading_scale must not be 0")
        if self.expires_on < self.calibrated_on:
            raise ValueError("expires_on lies before calibrated_on")
        return self

    @property
    def u_scale_relative(self) -> float:
        """Relative standard uncertainty common to all forces: weights, gravity, air."""
        return float(np.sqrt(sum(line.u_relative**2 for line in self.budget)))

    def _powers(self, reading: ArrayLike) -> FloatArray:
        x = (np.asarray(reading, dtype=float) - self.zero_reading) / self.reading_scale
        return x[..., None] ** np.arange(len(self.coefficients_n))

    def force_n(self, reading: ArrayLike) -> FloatArray:
        """Force in newtons from readings in ``reading_unit``; same shape as the readings."""
        force: FloatArray = self._powers(reading) @ np.asarray(self.coefficients_n)
        return force

    def n_per_reading(self, reading: ArrayLike | None = None) -> FloatArray:
        """Slope of the curve, newtons per unit of reading; at zero when no reading is given."""
        at = np.asarray(self.zero_reading if reading is None else reading, dtype=float)
        x = (at - self.zero_reading) / self.reading_scale
        slope = np.polynomial.polynomial.polyval(x, np.polynomial.polynomial.polyder(self.coefficients_n))
        return np.asarray(slope / self.reading_scale)

    def reading_of(self, force_n: ArrayLike) -> FloatArray:
        """Reading at a force: the curve turned round by Newton's method from the chord."""
        force = np.asarray(force_n, dtype=float)
        reading = self.zero_reading + force / self.n_per_reading()
        for _ in range(20):
            step = (self.force_n(reading) - force) / self.n_per_reading(reading)
            reading = reading - step
            if np.all(np.abs(step) <= 1e-13 * (np.abs(reading) + np.abs(self.reading_scale))):
                break
        return np.asarray(reading)

    def u_curve_n(self, reading: ArrayLike) -> FloatArray:
        """Standard uncertainty in newtons of the curve alone, from the covariance of its coefficients."""
        powers = self._powers(reading)
        variance = np.einsum("...i,ij,...j->...", powers, np.asarray(self.covariance_n2), powers)
        return np.asarray(np.sqrt(np.maximum(variance, 0.0)))

    def u_force_n(self, force_n: ArrayLike) -> FloatArray:
        """Standard uncertainty in newtons of a force measured with this certificate (whole budget)."""
        force = np.abs(np.asarray(force_n, dtype=float))
        variance = self.u_curve_n(self.reading_of(np.asarray(force_n, dtype=float))) ** 2
        for line in self.budget:
            variance = variance + (line.u_n + line.u_relative * force) ** 2
        return np.asarray(np.sqrt(variance))


class NoiseDensities(Record):
    """White noise densities, bias instabilities and random walks per axis from a long still recording.

    Names follow IEEE Std 952: N (white), B (bias instability), K (rate random walk). A list entry is
    None where the recording was too short to show it.
    """

    gyro_white_rad_s_rthz: Vector3
    gyro_bias_instability_rad_s: list[float | None]
    gyro_random_walk_rad_s2_rthz: list[float | None]
    accel_white_m_s2_rthz: Vector3
    accel_bias_instability_m_s2: list[float | None]
    accel_random_walk_m_s3_rthz: list[float | None]
    duration_s: float = Field(gt=0)
    tau_s: list[float] = []
    gyro_deviation_rad_s: list[Vector3] = []
    accel_deviation_m_s2: list[Vector3] = []


class Attitude(Record):
    """One still attitude: when, raw mean specific force, and the residual of its size after calibration."""

    start_s: float
    end_s: float
    accel_m_s2: Vector3
    residual_m_s2: float


class InertialCertificate(Certificate):
    """Calibration of an inertial sensor: true = matrix @ (raw - offset) for gyro and accelerometer.

    ``parameter_names`` and ``parameter_covariance`` cover every estimated number, in SI units:
    ``accel_offset_x`` ..., ``accel_scale_x`` ... (matrix diagonal), ``accel_misalignment_xy`` ... (matrix
    off the diagonal), and likewise ``gyro_bias_x``, ``gyro_scale_x``, ``gyro_misalignment_xy``.
    """

    kind: Literal["inertial"] = "inertial"
    gyro_bias_rad_s: Vector3
    gyro_matrix: Matrix3
    accel_offset_m_s2: Vector3
    accel_matrix: Matrix3
    parameter_names: list[str]
    parameter_covariance: list[list[float]]
    residual_sd_m_s2: float = Field(ge=0)
    residual_turn_rad: float | None = Field(default=None, ge=0)
    attitudes: list[Attitude]
    noise: NoiseDensities | None = None

    @pydantic.model_validator(mode="after")
    def _covariance_fits(self) -> InertialCertificate:
        m = len(self.parameter_names)
        if len(self.parameter_covariance) != m or any(len(row) != m for row in self.parameter_covariance):
            raise ValueError(f"parameter_covariance must be {m} x {m}, like parameter_names")
        if self.expires_on < self.calibrated_on:
            raise ValueError("expires_on lies before calibrated_on")
        return self

    def gyro_rad_s(self, raw_rad_s: ArrayLike) -> FloatArray:
        """Calibrated angular rate (n, 3) in rad/s from raw rate (n, 3) in rad/s."""
        offset, matrix = np.asarray(self.gyro_bias_rad_s), np.asarray(self.gyro_matrix)
        return np.asarray((np.asarray(raw_rad_s, dtype=float) - offset) @ matrix.T)

    def accel_m_s2(self, raw_m_s2: ArrayLike) -> FloatArray:
        """Calibrated specific force (n, 3) in m/s^2 from raw specific force (n, 3) in m/s^2."""
        offset, matrix = np.asarray(self.accel_offset_m_s2), np.asarray(self.accel_matrix)
        return np.asarray((np.asarray(raw_m_s2, dtype=float) - offset) @ matrix.T)

    def u(self, name: str) -> float:
        """Standard uncertainty of one parameter by its name."""
        i = self.parameter_names.index(name)
        return float(np.sqrt(max(self.parameter_covariance[i][i], 0.0)))


AnyCertificate = ForceCertificate | InertialCertificate
_ADAPTER: pydantic.TypeAdapter[AnyCertificate] = pydantic.TypeAdapter(
    Annotated[AnyCertificate, Field(discriminator="kind")]
)


def parse_certificate(text: str | bytes, *, where: str | None = None) -> AnyCertificate:
    """Read a certificate from its JSON text.

    Raises
    ------
    CertificateError
        Not JSON, an unknown key, a missing key or a value out of range; names the key.
    """
    try:
        return _ADAPTER.validate_json(text)
    except pydantic.ValidationError as error:
        first = error.errors(include_url=False)[0]
        key = ".".join(str(part) for part in first["loc"]) or "file"
        raise CertificateError(
            f"not a usable certificate: {key}: {first['msg']}",
            where=where,
            remedy="take the file as the calibration wrote it, or calibrate again",
        ) from error


def certificate_json(certificate: AnyCertificate) -> str:
    """JSON text of a certificate, as written to its file."""
    return certificate.model_dump_json(indent=1) + "\n"
