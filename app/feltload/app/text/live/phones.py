"""Words about phones as sensors: their own page, and what the other pages say of them."""

from __future__ import annotations

import math
from typing import Final

from feltload.acquisition import MotionConvention, Recognition
from feltload.app.running.phone import PhoneState
from feltload.app.text.acquisition import SENTENCES
from feltload.core import Fact

TITLE: Final = "Phone as a sensor"
HEADING: Final = "This phone as the inertial sensor"
WHAT: Final = (
    "Its gyroscope and accelerometer measure how the arm of the machine turns. Only this motion is sent, to the "
    "computer that the measurement runs on."
)
START: Final = "Start sending motion"
STRAP: Final = (
    "Strap it to the arm that turns, flat, with two straps that do not share a buckle, where nothing can crush it "
    "and nobody's fingers go. A phone that slips spoils the measurement; one that falls may break, or hurt."
)
LOADED: Final = "Never reach under or into a loaded machine to look at it. Stop on pain."
FLAT: Final = "It lies on its back, screen up"
USED_UP: Final = (
    "This link let one phone in already, or it is old. Scan the square on the computer's page again."
)
SESSION_OVER: Final = "The session is over. Scan the square on the computer's page again."
NEEDS_SCRIPT: Final = "This page needs JavaScript to read the motion."

PAGE_WORDS: Final = {
    "sending": "Sending.",
    "waiting": "Waiting for the first motion …",
    "none": "The browser tells no motion. It may keep it back: allow motion sensors for this page in its settings, "
    "or use another browser.",
    "denied": "Motion was not allowed. Reload the page and allow it, or allow it in the browser's settings.",
    "incomplete": "The browser tells motion without turning or without gravity: this phone or browser cannot be used.",
    "insecure": "The page was not opened over https: browsers keep motion back then. Scan the square again.",
    "away": "Not connected to the computer. It connects by itself; kept here meanwhile: {n} samples.",
    "dropped": "{n} samples had to be dropped: the connection was away for too long.",
    "hidden": "The page was hidden or the screen locked for {s} s: nothing was measured then. Keep this page in front, "
    "and set the screen to stay on.",
    "awake": "The screen stays on while this page is in front.",
    "sleepy": "This browser does not keep the screen on: set its time until it locks to the longest.",
}
"""What the page says by itself, by the names that its script knows."""

SECTION: Final = "A phone as the inertial sensor"
HOW: Final = (
    "Scan this with the phone that is to be strapped to the arm. It lets one phone in; then it changes."
)
NOT_SHARED: Final = "Start feltload live with --share, in a network of your own, to use a phone."
THIS_PHONE: Final = "Use the phone in your hand"
NO_PHONES: Final = "None yet."
IN_PLACE: Final = "in place of an inertial sensor of the rig"
KEEP_RUNNING: Final = "feltload live passes its motion on: leave it running while you record."
WORTH: Final = (
    "What it is worth, on emulated phones: the force profile is off by 0.3 % of the peak (rms, in the middle), as with "
    "a board of the same class at 0.2 %; docs/phone.md says where it falls short."
)

_STEPS: Final = (
    "Tip it towards you and away, slowly, a few times.",
    "Tip it to its left and to its right.",
    "Hold it upright and turn it like a steering wheel.",
)
_FLAT_STEP: Final = "Lay it on its back, screen up, and tap the button below."


def refused_text(why: str) -> str:
    """Why a socket is closed."""
    return f"A message was refused: {why}. Reload this page."


def state_lines(state: PhoneState) -> list[str]:
    """How a phone is doing, in lines."""
    lines = [_sending(state)]
    if state.lost:
        lines.append(f"{state.lost} samples were lost on the way.")
    lines.append("It is recorded." if state.recorded else "It is not recorded now.")
    lines += recognition_lines(state.recognition)
    return lines


def state_line(state: PhoneState) -> str:
    """How a phone is doing, in a line."""
    return " ".join([_sending(state), *recognition_lines(state.recognition)])


def _sending(state: PhoneState) -> str:
    if not state.connected:
        return "Not connected: wake its screen and open its page again."
    if not state.sending:
        return "Connected, and no motion comes: its screen may be locked, or its page hidden."
    rate = "" if math.isnan(state.rate_hz) else f" {state.rate_hz:.0f} readings per second arrive."
    return f"Motion arrives.{rate}"


def recognition_lines(recognition: Recognition) -> list[str]:
    """What is recognised of how the browser tells motion."""
    if recognition.trouble is not None:
        said = SENTENCES[recognition.trouble](Fact(recognition.trouble))
        return [f"{said[0].upper()}{said[1:]}."]
    if recognition.convention is None:
        return ["How the browser tells motion cannot be determined yet: turn the phone as its page asks."]
    return [f"Recognised: {convention_text(recognition.convention)}."]


def convention_text(convention: MotionConvention) -> str:
    """Signs, order and unit in which a browser tells motion."""
    gravity = "as the standard has it" if convention.gravity_sign > 0 else "opposite to the standard"
    turns = "right-handed" if convention.turn_sign > 0 else "left-handed"
    return (
        f"gravity {gravity}; turning {turns} about {', '.join(convention.order)}, in {convention.turn_unit}"
    )


def steps(recognition: Recognition) -> list[tuple[str, bool]]:
    """What is to be done with the phone so that it is recognised, and whether it is done; none once it is."""
    if recognition.convention is not None:
        return []
    turned = list(zip(_STEPS, recognition.turned, strict=True))
    return [(_FLAT_STEP, recognition.lies), *turned]


def needs_flat(recognition: Recognition) -> bool:
    """Whether it has to be said that the phone lies on its back."""
    return recognition.convention is None and not recognition.lies


def note_text(name: str, convention: MotionConvention, unexplained: float) -> str:
    """What is kept with a recording of a phone."""
    return (
        f"{name} (browser) as the inertial sensor: {convention_text(convention)}; recognised from turning it, "
        f"{100 * unexplained:.0f} % of gravity's movement unexplained"
    )
