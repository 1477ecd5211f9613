"""Sentences of the facts of `feltload.acquisition`."""

from __future__ import annotations

from collections.abc import Mapping

from feltload.acquisition import DamageFact, GuessFact, HealthFact, LinkFact, PhoneFact
from feltload.app.text.common import Sentence
from feltload.core import Fact


def _counted(one: str, many: str) -> Sentence:
    return lambda fact: one if fact.figures["count"] == 1 else many.format(n=fact.figures["count"])


def _figures(text: str) -> Sentence:
    return lambda fact: text.format(**fact.figures)


def _link_lost(fact: Fact) -> str:
    parts = {"where": "", "at_s": None, **fact.figures}
    place = f"{parts['where']}: " if parts["where"] else ""
    when = "" if parts["at_s"] is None else f", {parts['at_s']:.1f} s after the start"
    return f"{place}{parts['what']}{when}"


def _gravity(fact: Fact) -> str:
    full, scale, unit = fact.figures.get("full_scale_g"), fact.figures["scale"], fact.figures["unit"]
    assert isinstance(scale, float)
    if full is not None:
        return f"accelerometer: 1 g reads {1 / scale:.0f} counts, a full scale of {full:g} g"
    return f"accelerometer: gravity reads as {unit} with scale {scale:g}"


def _turn_rate(fact: Fact) -> str:
    full = fact.figures.get("full_scale_deg_s")
    scale = f"{fact.figures['unit']}, scale {fact.figures['scale']:g}"
    if full is not None:
        scale = f"a full scale of {full:g} deg/s"
    return f"gyro: {scale}, by how far gravity turned in the sensor while it was turned"


SENTENCES: Mapping[str, Sentence] = {
    PhoneFact.NO_GRAVITY: _figures(
        "the browser tells acceleration without gravity, which the angle is measured by; try another browser"
    ),
    PhoneFact.GRAVITY_ODD: _figures(
        "gravity is not 9.8 m/s² long in what the browser tells; lay the phone still, or try another browser"
    ),
    PhoneFact.NO_RATES: _figures(
        "the browser tells no turning: the phone has no gyroscope, or keeps it back; use another phone or browser"
    ),
    PhoneFact.RATES_DO_NOT_FIT: _figures(
        "gravity moves otherwise than the phone's gyroscope says; turn it slowly, or use another browser or phone"
    ),
    PhoneFact.AXES_MIXED: _figures(
        "the browser tells the axes of turning in a way that no browser is known to, so they are not guessed; "
        "use another browser"
    ),
    PhoneFact.LIES_OTHERWISE: _figures(
        "gravity points elsewhere than the way the phone says it lies; reload its page, or use another browser"
    ),
    HealthFact.FRAMES_DAMAGED: _counted(
        "1 frame arrived damaged (checksum) and was left out",
        "{n} frames arrived damaged (checksum) and were left out",
    ),
    HealthFact.FRAMES_UNREADABLE: _counted(
        "1 frame or line could not be read and was left out",
        "{n} frames or lines could not be read and were left out",
    ),
    HealthFact.SAMPLES_MISSING: _counted("1 sample is missing", "{n} samples are missing"),
    HealthFact.LOSS_NOT_COUNTED: _counted(
        "samples are missing in 1 place; how many cannot be determined",
        "samples are missing in {n} places; how many cannot be determined",
    ),
    HealthFact.WRAP_NOT_DESCRIBED: _figures(
        "its {field} starts again at 0 after {wrap} counts each time, and was counted on; write wrap = {wrap} for "
        "{field} in its stream description"
    ),
    HealthFact.SENSOR_RESTARTED: _counted(
        "the sensor started again once", "the sensor started again {n} times"
    ),
    HealthFact.SENSOR_CLOCK_JUMPED: _counted(
        "the sensor's clock jumped once", "the sensor's clock jumped {n} times"
    ),
    HealthFact.RANGE_END_REACHED: _counted(
        "1 sample is at the end of the sensor's range", "{n} samples are at the end of the sensor's range"
    ),
    HealthFact.ABOVE_RATED_CAPACITY: _counted(
        "1 force sample is above the rated capacity of the cell",
        "{n} force samples are above the rated capacity of the cell",
    ),
    HealthFact.MESSAGES_NOT_KEPT: _counted(
        "1 message could not be kept by the recorder", "{n} messages could not be kept by the recorder"
    ),
    DamageFact.INDEX_DAMAGED: _figures("the index at the end is damaged; all samples are there"),
    DamageFact.RECORDING_CUT: _figures(
        "it was cut or not closed: {unread_bytes} bytes at its end could not be read, "
        "and up to a second before its end may never have been written"
    ),
    DamageFact.RECORDING_ENDS: _figures("it ends at {at_s:.2f} s"),
    DamageFact.BLOCK_LENGTH_DAMAGED: _figures("the length of a block is damaged; what it holds was read"),
    DamageFact.BLOCK_LEFT_OUT: _figures("a block of {duration_s:.2f} s is damaged and was left out"),
    DamageFact.BYTES_LEFT_OUT: _figures("{bytes} bytes are damaged and were left out"),
    DamageFact.DESCRIPTION_COPY_DAMAGED: _figures(
        "one copy of its description is damaged; the other one was read"
    ),
    DamageFact.FILE_COPY_DAMAGED: _figures("one copy of {file} in it is damaged; the other one was read"),
    DamageFact.SENSORS_REPLACED: _figures(
        "its sensors are read as {file} describes them, in place of the description in it"
    ),
    DamageFact.MACHINE_FILE_LEFT_OUT: _figures("its machine file is damaged and was left out"),
    DamageFact.CERTIFICATE_DAMAGED: _figures('its certificate "{certificate}" is damaged'),
    DamageFact.ATTACHMENT_DAMAGED: _figures("one of its attached files is damaged"),
    LinkFact.LINK_LOST: _link_lost,
    LinkFact.LINK_RETURNED: _figures("connected again, waiting for samples"),
    LinkFact.PORT_RENAMED: _figures("{before} came back as {now}"),
    LinkFact.OTHER_SENSOR: _figures(
        '{where} was expected to send "{expected}" but sends "{sends}": recorded as what it sends'
    ),
    LinkFact.BYTES_UNREADABLE: _figures("{bytes} bytes arrived, but none of them can be read as {expected}"),
    GuessFact.CHECK_PASSED: _figures("check value {name}: {passed:.1%} of the frames pass it"),
    GuessFact.CHECK_UNKNOWN: _figures(
        "no check value was recognised: damage within a frame goes unnoticed; if the manual names one, add checksum"
    ),
    GuessFact.CLOCK_FOUND: _figures(
        "its clock counts in {unit}: {ticks_hz:.6g} counts a second by this computer"
    ),
    GuessFact.CLOCK_RATE_MEASURED: _figures(
        "its clock makes {ticks_hz:.5g} counts a second by this computer, no usual number: "
        "write 1 over the manual's number as scale of device_time"
    ),
    GuessFact.CLOCK_WRAP_SEEN: _figures(
        "its clock starts again after {wrap} counts ({wrap_s:.4g} s), as was seen"
    ),
    GuessFact.CLOCK_WRAP_ASSUMED: _figures(
        "its clock did not start again while listening; {wrap} counts ({wrap_s:.4g} s) are assumed: "
        "if the manual says otherwise, write wrap of device_time"
    ),
    GuessFact.CLOCK_MISSING: _figures("no clock was recognised: samples are placed by their arrival"),
    GuessFact.COUNTER_FOUND: _figures("it numbers what it sends, so that losses are counted"),
    GuessFact.GRAVITY_FOUND: _gravity,
    GuessFact.GRAVITY_ODD: _figures(
        "accelerometer: gravity gives the scale {scale:.4g} g, no usual full scale: "
        "write the data sheet's scale of accel, or calibrate it"
    ),
    GuessFact.TURN_RATE_FOUND: _turn_rate,
    GuessFact.TURN_RATE_UNKNOWN: _figures(
        "gyro: its scale cannot be determined unless it is turned: listen again while you tilt the sensor to and fro "
        'by a quarter turn, or write unit = "deg/s" and scale of gyro (16 bits: full scale in deg/s over 32768)'
    ),
    GuessFact.FORCE_IN_COUNTS: _figures(
        "force: its unit cannot be determined from bytes; as counts it records now and needs a certificate "
        "(`feltload calibrate force`); if the sensor sends N, kgf or lbf, write unit (and scale) of force"
    ),
    GuessFact.FORCE_DOUBTFUL: _figures(
        "field {chosen} is treated as the force, but {others} may be it: "
        "pull on the cell while it listens, watch the values, and exchange the names if need be"
    ),
    GuessFact.SAMPLES_IN_FRAME: _figures("{count} samples in a frame, with one stamp"),
    GuessFact.FIELDS_UNKNOWN: lambda fact: (
        "1 field is not understood and read past"
        if fact.figures["count"] == 1
        else f"{fact.figures['count']} fields are not understood and read past"
    ),
    GuessFact.NOTHING_MEASURED: _figures(
        "neither a force nor six axes were recognised: pull on the cell and tilt the sensor while it listens, "
        "or describe its frame in a rig file by hand"
    ),
}
"""Kind -> what is said of it."""
