"""The certificate of an inertial sensor: true rate and specific force from raw ones, and their noise."""

from __future__ import annotations

from typing import Annotated, Literal

import numpy as np
import pydantic
from numpy.typing import ArrayLike
from pydantic import Field

from feltload.acquisition.certificates.head import Certificate, Record, require_covariance
from feltload.core import Floats

__all__ = ["Attitude", "InertialCertificate", "NoiseDensities", "TurnRecord"]

Vector3 = Annotated[list[float], Field(min_length=3, max_length=3)]
Matrix3 = Annotated[list[Vector3], Field(min_length=3, max_length=3)]


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
    tau_s: list[float] = Field(default_factory=list)
    gyro_deviation_rad_s: list[Vector3] = Field(default_factory=list)
    accel_deviation_m_s2: list[Vector3] = Field(default_factory=list)


class Attitude(Record):
    """One still attitude: when, raw mean specific force, and the residual of its size after calibration."""

    start_s: float
    end_s: float
    accel_m_s2: Vector3
    residual_m_s2: float


class TurnRecord(Record):
    """One turn from rest to rest, used or not.

    ``angle_rad`` and the unit vector ``axis`` are by the corrected gyro, ``gravity_turned_rad`` is how far gravity
    turned in the sensor's frame, ``stated_rad`` what a person said of the angle, ``residual_rad`` how far gravity was
    from where the corrected gyro carried it.
    """

    start_s: float
    end_s: float
    angle_rad: float
    axis: Vector3
    gravity_turned_rad: float | None = None
    stated_rad: float | None = None
    residual_rad: float | None = None
    used: bool
    remark: str = ""


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
    turns: list[TurnRecord] = Field(default_factory=list)
    noise: NoiseDensities | None = None

    @pydantic.model_validator(mode="after")
    def _covariance_fits(self) -> InertialCertificate:
        m = len(self.parameter_names)
        require_covariance("parameter_covariance", self.parameter_covariance, m, "parameter_names")
        return self

    def gyro_rad_s(self, raw_rad_s: ArrayLike) -> Floats:
        """Calibrated angular rate (n, 3) in rad/s from raw rate (n, 3) in rad/s."""
        offset, matrix = np.asarray(self.gyro_bias_rad_s), np.asarray(self.gyro_matrix)
        return np.asarray((np.asarray(raw_rad_s, dtype=float) - offset) @ matrix.T)

    def accel_m_s2(self, raw_m_s2: ArrayLike) -> Floats:
        """Calibrated specific force (n, 3) in m/s^2 from raw specific force (n, 3) in m/s^2."""
        offset, matrix = np.asarray(self.accel_offset_m_s2), np.asarray(self.accel_matrix)
        return np.asarray((np.asarray(raw_m_s2, dtype=float) - offset) @ matrix.T)

    def u(self, name: str) -> float:
        """Standard uncertainty of one parameter by its name."""
        i = self.parameter_names.index(name)
        return float(np.sqrt(max(self.parameter_covariance[i][i], 0.0)))
