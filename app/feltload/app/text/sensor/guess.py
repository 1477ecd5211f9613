"""What a sensor seems to send, and what is still to be said, in words."""

from __future__ import annotations

from feltload.acquisition import Guess, GuessedStream
from feltload.app.text.facts import describe
from feltload.core import Severity


def describe_unread(guess: Guess) -> str:
    """What a link brings in which no framing was recognised."""
    such_as = f" (such as {guess.unread})" if guess.unread else ""
    return f"neither frames nor lines were recognised{such_as}: check that it sends, and its baud rate"


def remarks(stream: GuessedStream) -> list[str]:
    """Lines about a guessed stream: what was found, then what is left to a person."""
    out = []
    for severity, lead in ((Severity.NOTE, "found"), (Severity.CAUTION, "to say")):
        out += [f"{lead}: {describe(fact)}" for fact in stream.facts if fact.severity is severity]
    return out
