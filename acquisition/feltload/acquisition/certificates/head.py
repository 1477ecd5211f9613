"""What every calibration certificate states, and when it may be used."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer

from feltload.acquisition.errors import CertificateError
from feltload.core import Fact

__all__ = ["Certificate", "Environment", "Record", "StoredFact"]


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


class Environment(Record):
    """Air around the calibration; absent values were not recorded."""

    temperature_c: float | None = None
    pressure_hpa: float | None = None
    humidity_percent: float | None = None


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
