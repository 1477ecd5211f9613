"""Which command comes after a command, with what must never be lost on the way."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final

from feltload.app.next_steps.client import AFTER_CLIENT
from feltload.app.next_steps.designing import AFTER_DESIGNING
from feltload.app.next_steps.measuring import AFTER_MEASURING
from feltload.app.next_steps.step import Given, NextStep

AFTER: Final = {**AFTER_MEASURING, **AFTER_DESIGNING, **AFTER_CLIENT}
"""Command -> what comes after it; a test finds a command without."""

KEEP_PAIN = ("client", "record")
"""Commands that take painful ranges ..."""

FOLDER_ONLY = (
    ("client", "new"),
    ("client", "history"),
    ("client", "delete"),
    ("client", "sides"),
    ("client", "pain"),
)
"""... and those among them that do not."""


def next_step(chain: tuple[str, ...], given: Given, outcome: int) -> NextStep | None:
    """What comes after a command.

    Parameters
    ----------
    chain : tuple of str
        Its words, such as ``("client", "match")``.
    given : mapping
        Values of its parameters.
    outcome : int
        Its exit code.
    """
    after = AFTER.get(chain)
    return None if after is None else _with_pain(after(given, outcome), given)


def _with_pain(step: NextStep, given: Given) -> NextStep:
    """The step with the painful ranges that this command was told: a mark is never lost on the way to the next."""
    about = given.get("pain") or given.get("person")
    if about is None or step.words[0] not in KEEP_PAIN or step.words[:2] in FOLDER_ONLY:
        return step
    marks: list[str | Path] = [word for range_ in about.painful or () for word in ("--painful", range_)]
    if about.client is not None and "--client" not in step.words:
        marks += ["--client", about.client]
    return replace(step, words=(*step.words, *marks))
