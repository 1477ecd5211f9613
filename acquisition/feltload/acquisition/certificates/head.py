"""What every calibration certificate states, and when it may be used."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Annotated, Literal, Self

import numpy as np
import pydantic
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer

from feltload.acquisition.errors import CertificateError
from feltload.core import Fact

__all__ = ["Certificate", "Environment", "Record", "Signature", "StoredFact", "require_covariance"]


class Record(BaseModel):
    """Base of everything in a certificate file: no unknown keys, no silent change, no NaN."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


def _fact(stored: object) -> object:
    """A fact from JSON; files of an older format keep a sentence."""
    if not isinstance(stored, str | Mapping):
        return stored
    try:
        return Fact.from_dict(stored)
    except (KeyError, TypeError) as error:
        raise ValueError(f"not a fact: {error}") from error


StoredFact = Annotated[Fact, BeforeValidator(_fact), PlainSerializer(Fact.to_dict)]
"""A fact as a file keeps it."""


def require_covariance(name: str, rows: list[list[float]], m: int, like: str) -> None:
    """Refuse what is no covariance of `m` values.

    Raises
    ------
    ValueError
        Not m x m, not symmetric, or negative in some direction.
    """
    if len(rows) != m or any(len(row) != m for row in rows):
        raise ValueError(f"{name} must be {m} x {m}, like {like}")
    covariance = np.array(rows)
    if not covariance.size:
        return
    # A variance may be many times another one; correlations compare what is alike.
    sd = np.sqrt(np.abs(np.diag(covariance)))
    scale = np.where(sd > 0, sd, 1.0)
    correlation = covariance / np.outer(scale, scale)
    if np.any(np.diag(covariance) < 0) or not np.allclose(correlation, correlation.T, atol=1e-6):
        raise ValueError(f"{name} is no covariance: a variance is negative, or it is not symmetric")
    if np.linalg.eigvalsh(correlation).min() < -1e-6:
        raise ValueError(f"{name} is no covariance: it is negative in some direction")


class Environment(Record):
    """Air around the calibration; absent values were not recorded."""

    temperature_c: float | None = None
    pressure_hpa: float | None = None
    humidity_percent: float | None = None


class Signature(Record):
    """Who vouches for a certificate: an Ed25519 public key and its signature, in hexadecimal digits."""

    public_key: str = Field(pattern=r"^[0-9a-f]{64}$")
    value: str = Field(pattern=r"^[0-9a-f]{128}$")


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
    warnings: list[StoredFact] = []
    notes: list[StoredFact] = []
    signature: Signature | None = None

    @pydantic.model_validator(mode="after")
    def _dates_follow(self) -> Self:
        if self.expires_on < self.calibrated_on:
            raise ValueError("expires_on lies before calibrated_on")
        return self

    def require_past(self, today: dt.date, *, where: str | None = None) -> None:
        """Refuse a certificate of a calibration that is still to come.

        Parameters
        ----------
        today : datetime.date
        where : str, optional
            File named in the error.

        Raises
        ------
        CertificateError
            It is dated after tomorrow: it may come from where the next day has begun.
        """
        if self.calibrated_on > today + dt.timedelta(days=1):
            raise CertificateError(
                f"the certificate is dated {self.calibrated_on}, and today is {today}",
                where=where,
                remedy="correct this computer's date, or calibrate again",
            )

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
