"""What a sensor seems to send, and what is still to be said, in words."""

from __future__ import annotations

from collections.abc import Mapping

from feltload.acquisition import Guess, GuessedStream, GuessFact
from feltload.app.text.common import Sentence
from feltload.core import Fact, Severity


def _figures(text: str) -> Sentence:
    return lambda fact: text.format(**fact.figures)


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


def describe_unread(guess: Guess) -> str:
    """What a link brings in which no framing was recognised."""
    such_as = f" (such as {guess.unread})" if guess.unread else ""
    return f"neither frames nor lines were recognised{such_as}: check that it sends, and its baud rate"


def remarks(stream: GuessedStream, words: Mapping[str, Sentence] = SENTENCES) -> list[str]:
    """Lines about a guessed stream: what was found, then what is left to a person."""
    out = []
    for severity, lead in ((Severity.NOTE, "found"), (Severity.CAUTION, "to say")):
        out += [f"{lead}: {words[fact.kind](fact)}" for fact in stream.facts if fact.severity is severity]
    return out
