"""Words of the way in: the page that asks for the code, and what the terminal says about sharing."""

from __future__ import annotations

from typing import Final

from feltload.app.text.cautions import FIRST_COMES

TITLE: Final = "feltload"
HEADING: Final = "This page belongs to a measurement"
ASK: Final = (
    "Type the code that the laptop shows to take part. To watch only, open the link under its square code."
)
CODE: Final = "Code"
ENTER: Final = "Take part"
KEEP_WATCHING: Final = "Go on watching"
WRONG_CODE: Final = "That code does not fit. It works once; the laptop shows the next one."
TOO_MANY_TRIES: Final = (
    "Too many codes were tried. Wait a minute, then type the one that the laptop shows now."
)

NOT_INSTALLED: Final = "the pages need NiceGUI, which is not installed"
INSTALL: Final = 'install them with: python -m pip install "feltload[live]"'


def opened_here(address: str) -> str:
    """What the terminal says once the pages are there."""
    return f"Pages: {address}\nThe link opens once; Ctrl-C ends. {FIRST_COMES}"


def holds_without_profile(machine: str) -> str:
    """Why a recording of holds cannot be played."""
    return f"holds are played beside the profile of {machine!r}, which is not in this folder"


def goes_on(recording: str) -> str:
    """What the terminal says when the pages are closed while something is recorded."""
    return f"The recording goes on without the pages: {recording}. To join it again: feltload live"


def shared_at(address: str, code: str) -> str:
    """What the terminal says about others on the network."""
    return (
        f"To watch: {address}\nTo take part, the code {code} (works once; the next one is on the start page)."
    )


WARNING_EXPECTED: Final = (
    "The first time, a browser warns of the certificate: this computer made it, and nobody signed it."
)
WARNING_STEPS: Final = (
    "Join the network that this computer is in, and point the phone's camera at the square.",
    "The browser warns that the connection is not private, or that it does not trust the certificate. This is "
    "expected: this computer made the certificate itself, so that others on the network cannot read what is sent.",
    "Open the certificate from the warning and compare its SHA-256 fingerprint with the one below. If they differ, "
    "stop: another device answers in place of this one.",
    "If they are the same, visit the page (often under Details or Advanced).",
)
FINGERPRINT: Final = "SHA-256 fingerprint of the certificate"


def warned_of(fingerprint: str) -> str:
    """What the terminal says about the browser's warning."""
    return f"{WARNING_EXPECTED} Compare before going on:\n{fingerprint}"


def no_network() -> str:
    """Sharing was asked for where there is nobody to share with."""
    return "this computer has no address on a network"


JOIN_A_NETWORK: Final = "join one, or leave out --share"
ONE_OF_THREE: Final = "a rig file, --replay and --emulated exclude each other"
CHOOSE_ONE: Final = "give one of them"
PROFILE_BESIDE: Final = (
    "run `feltload profile` on that machine's recordings, with --out in the folder of the pages"
)
STARTING_EMULATED: Final = "Starting an emulated rig"
