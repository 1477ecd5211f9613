"""Decoded streams with their calibration certificates applied."""

from __future__ import annotations

import datetime as dt

import pandas as pd

from feltload.acquisition.certificates.certificate import (
    AnyCertificate,
    ForceCertificate,
    InertialCertificate,
)
from feltload.acquisition.errors import CertificateError
from feltload.acquisition.wire.descriptions.fields import AXES
from feltload.acquisition.wire.descriptions.schema import StreamDescription

__all__ = ["ACCEL_COLUMNS", "GYRO_COLUMNS", "calibrated"]

GYRO_COLUMNS = [f"{axis}_rad_s" for axis in AXES["gyro"]]
ACCEL_COLUMNS = [f"{axis}_m_s2" for axis in AXES["accel"]]

_READINGS = {"counts": "force_counts", "mV/V": "force_mv_v"}


def calibrated(
    frame: pd.DataFrame,
    description: StreamDescription,
    certificate: AnyCertificate | None,
    *,
    on: dt.date | None = None,
    accept_expired: bool = False,
    where: str = "",
) -> pd.DataFrame:
    """Apply a sensor's certificate to its decoded samples.

    Parameters
    ----------
    frame : DataFrame
        As `decode.Decoded.frame`.
    description : StreamDescription
    certificate : ForceCertificate or InertialCertificate, optional
    on : datetime.date, optional
        Day of the measurement, compared with the certificate's dates.
    accept_expired : bool
    where : str
        File named in errors.

    Returns
    -------
    DataFrame
        A new one, in newtons or SI rates.

    Raises
    ------
    CertificateError
        Readings in counts without a certificate, or a certificate of another sensor, kind or unit.
    """
    place = f"{where}: stream {description.name}" if where else f"stream {description.name}"
    measured = description.field(description.measured[0])
    unit = measured.unit if measured is not None else ""
    if certificate is None:
        if any(column.endswith(("_counts", "_mv_v")) for column in frame.columns):
            raise CertificateError(
                f"reads in {unit}, and there is no certificate to make {description.kind} of it",
                where=place,
                remedy="give the sensor's certificate, or unit and scale in the rig file",
            )
        return frame
    certificate.require_valid(serial=description.serial, on=on, accept_expired=accept_expired, where=place)
    out = frame.copy()
    if description.kind == "force" and isinstance(certificate, ForceCertificate):
        column = _READINGS[certificate.reading_unit]
        if column not in frame.columns:
            raise CertificateError(
                f"the certificate takes {certificate.reading_unit}, the stream reads in {unit}",
                where=place,
                remedy="use readings in the certificate's unit, or leave the certificate out",
            )
        out[column] = certificate.force_n(frame[column].to_numpy())
        return out.rename(columns={column: "force_n"})
    if description.kind == "inertial" and isinstance(certificate, InertialCertificate):
        if not set(GYRO_COLUMNS + ACCEL_COLUMNS) <= set(frame.columns):
            raise CertificateError(
                "the certificate takes SI rates, the stream reads in counts",
                where=place,
                remedy="give unit and scale of the axes in the rig file",
            )
        out[GYRO_COLUMNS] = certificate.gyro_rad_s(frame[GYRO_COLUMNS].to_numpy())
        out[ACCEL_COLUMNS] = certificate.accel_m_s2(frame[ACCEL_COLUMNS].to_numpy())
        return out
    raise CertificateError(
        f"the certificate is for a {certificate.kind} sensor, the stream is {description.kind}",
        where=place,
        remedy="give the certificate of this sensor",
    )
