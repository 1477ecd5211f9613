"""``feltload calibrate force|inertial``: certificates of load cells and inertial sensors."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

if TYPE_CHECKING:
    from feltload.acquisition import AnyCertificate
    from feltload.calibration import KnownTurn


def force(
    readings: Path,
    /,
    *,
    out: Path,
    guided: Path | None = None,
    weights: str | None = None,
    series: int = 3,
    turned: str | None = None,
    still: str = "3 s",
    stream: str | None = None,
    exclude_row: list[int] | None = None,
    allow_one_direction: bool = False,
    sign: Path | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Calibrate a load cell from readings under dead weights.

    The readings file is CSV: lines "# key: value" (serial, date, latitude, height, rated capacity), then
    the columns series,direction,mass,reading. Writes the certificate (JSON) and, beside it, its page (HTML). Stay
    within the rated capacity of cell, shackles and straps; never stand under a hanging load.

    With --guided the readings come from the cell itself: hang each weight, press Enter, and its reading is
    taken once it is still. The readings file is written as they come; the same command goes on with it.

    Example: feltload calibrate force readings.csv --out cell.json

    Example: feltload calibrate force readings.csv --guided rig.toml --weights "5 kg, 10 kg, 20 kg, 30 kg,
    40 kg" --out cell.json

    Parameters
    ----------
    readings
        Readings file; with --guided it is written, under the head that is in it already.
    out
        Certificate to write (.json).
    guided
        Rig file of the cell, to take the readings now.
    weights
        Masses to hang, in all, such as "5 kg, 10.000(0.001) kg, 20 kg"; five or more.
    series
        How many times up and down.
    turned
        Turn of the cell about its axis in each series, such as "0, 0, 120, 240" (degrees).
    still
        How long a reading must be still; longer where weights swing slowly.
    stream
        Which load cell, where the rig file has several.
    exclude_row
        Line number to leave out; it stays in the certificate, marked. May be repeated.
    allow_one_direction
        Accept readings taken only rising or only falling.
    sign
        Your private key from `feltload calibrate keys`: the certificate is signed, and nothing in it changes unseen.
    force_overwrite
        Replace a certificate that is there already.
    """
    from feltload.acquisition import read_signing_key
    from feltload.app.pages.certificate_files import claim_certificate, write_certificate
    from feltload.calibration import calibrate_force

    console = Console(common)
    key = None if sign is None else read_signing_key(sign)
    claim_certificate(out, overwrite=force_overwrite)
    if guided is not None and not _take_readings(
        console,
        guided,
        readings,
        weights=weights,
        series=series,
        turned=turned,
        still=still,
        stream=stream,
    ):
        console.say(f"Left before the last reading; the same command goes on with {readings}")
        return 0
    with console.progress("Calibrating"):
        certificate = calibrate_force(
            readings, exclude_rows=exclude_row or (), allow_one_direction=allow_one_direction
        )
    _show(console, out, *write_certificate(out, certificate, key=key))
    return 0


def inertial(
    recording: Path,
    /,
    *,
    serial: str,
    out: Path,
    stream: str | None = None,
    rig: Path | None = None,
    latitude: str | None = None,
    height: str | None = None,
    date: str | None = None,
    turn: list[str] | None = None,
    by: str = "",
    place: str = "",
    sign: Path | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Calibrate an inertial sensor from a recording of it lying still in six or more attitudes.

    Lay it on each of its faces for some seconds; the still poses are found by themselves, and so are the turns
    between them, from which the gyro's scale and cross-axis terms follow. Writes the certificate (JSON) and, beside
    it, its page (HTML).

    Example: feltload calibrate inertial poses.mcap --serial IMU-7 --out imu.json

    Parameters
    ----------
    recording
        Recording of the still attitudes.
    serial
        Serial number of the sensor.
    out
        Certificate to write (.json).
    stream
        Which inertial stream, where there are several.
    rig
        Rig file to use in place of the sensor's description kept in the recording.
    latitude
        Where, such as "52.2 deg", for gravity.
    height
        Height above sea level, such as "120 m".
    date
        Day of the calibration (YYYY-MM-DD); the recording's when left out.
    turn
        A turn of known angle about one axis between two still moments: start, end and angle, such as
        "92 s, 98 s, 360.0(0.5) deg". May be repeated. Needed only about the vertical, where gravity tells nothing.
    by
        Who calibrated.
    place
        Where.
    sign
        Your private key from `feltload calibrate keys`, to sign the certificate.
    force_overwrite
        Replace a certificate that is there already.
    """
    from feltload.acquisition import read_signing_key
    from feltload.app.files.recordings import open_recording
    from feltload.app.pages.certificate_files import claim_certificate, write_certificate
    from feltload.app.text.facts import describe
    from feltload.app.text.sensor.certificate import describe_turn
    from feltload.calibration import calibrate_inertial
    from feltload.core import parse_quantity

    console = Console(common)
    turns = [_turn(text) for text in turn or ()]
    latitude_rad = None if latitude is None else parse_quantity(latitude, "angle", where="--latitude").value
    height_m = None if height is None else parse_quantity(height, "length", where="--height").value
    stated_day = None if date is None else _day(date)
    key = None if sign is None else read_signing_key(sign)
    claim_certificate(out, overwrite=force_overwrite)
    with console.progress("Calibrating"):
        read = open_recording(recording, rig=rig)
        certificate = calibrate_inertial(
            read,
            serial=serial,
            date=stated_day or _day(read.info.started_utc[:10]),
            stream=stream,
            latitude_rad=latitude_rad,
            height_m=height_m,
            turns=turns,
            calibrated_by=by,
            place=place,
        )
    console.facts(read.damage)
    for number, found_turn in enumerate(certificate.turns, start=1):
        console.say(describe_turn(number, found_turn))
    for note in certificate.notes:
        console.note(f"Note: {describe(note)}")
    _show(console, out, *write_certificate(out, certificate, key=key))
    return 0


def _show(console: Console, out: Path, certificate: AnyCertificate, page: Path) -> None:
    from feltload.app.text.facts import describe
    from feltload.app.text.sensor.certificate import describe_certificate
    from feltload.calibration import check_certificate

    console.facts(check_certificate(certificate, where=str(out)))
    for warning in certificate.warnings:
        console.note(f"Note: {describe(warning)}")
    console.say(f"{describe_certificate(certificate)}: {out}")
    console.say(f"Page: {page}")
    console.result(
        {
            "certificate": str(out),
            "page": str(page),
            "serial": certificate.serial,
            "expires_on": certificate.expires_on.isoformat(),
            "warnings": [warning.to_dict() for warning in certificate.warnings],
        }
    )


def _take_readings(
    console: Console,
    rig: Path,
    readings: Path,
    *,
    weights: str | None,
    series: int,
    turned: str | None,
    still: str,
    stream: str | None,
) -> bool:
    """Guided readings; whether all of them were taken."""
    from feltload.acquisition import load_rig
    from feltload.app.errors import UsageError
    from feltload.app.sessions.guided_calibration import guide, parse_positions, parse_weights
    from feltload.core import parse_quantity

    if weights is None:
        raise UsageError(
            "the weights to hang are not named", where="--weights", remedy='write "5 kg, 10 kg, ..."'
        )
    return guide(
        console,
        load_rig(rig),
        readings,
        weights=parse_weights(weights),
        positions_deg=parse_positions(turned, series),
        window_s=parse_quantity(still, "time", where="--still").value,
        stream=stream,
    )


def _turn(text: str) -> KnownTurn:
    from feltload.app.errors import UsageError
    from feltload.calibration import KnownTurn
    from feltload.core import parse_quantity

    parts = text.split(",")
    if len(parts) != 3:
        raise UsageError(
            f'"{text}" is no turn',
            where="--turn",
            remedy='write start, end and angle, such as "92 s, 98 s, 360.0(0.5) deg"',
        )
    start, end = (parse_quantity(part, "time", where="--turn").value for part in parts[:2])
    angle = parse_quantity(parts[2], "angle", where="--turn")
    if not start < end or angle.value == 0 or angle.u is None:
        raise UsageError(
            f'"{text}" lacks a span, an angle or its uncertainty',
            where="--turn",
            remedy='write for example "92 s, 98 s, 360.0(0.5) deg"',
        )
    return KnownTurn(start, end, angle.value, angle.u)


def _day(text: str) -> dt.date:
    from feltload.app.errors import UsageError

    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise UsageError(f'"{text}" is not a day', where="--date", remedy="write it as YYYY-MM-DD") from error
