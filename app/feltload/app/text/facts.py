"""One sentence for one fact, the same on every screen.

Each layer's kinds have their sentences in a module of this room; a kind without one is a defect that a test finds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from feltload.app.text import acquisition, calibration, coaching, common, jobs, signal
from feltload.app.text.common import Sentence
from feltload.core import Fact

SENTENCES: Mapping[str, Sentence] = {
    **common.SENTENCES,
    **acquisition.SENTENCES,
    **signal.SENTENCES,
    **calibration.SENTENCES,
    **coaching.SENTENCES,
    **jobs.SENTENCES,
}
"""Kind -> what is said of it, without the name of its session."""


def describe(fact: Fact) -> str:
    """The fact in words, led by its session and stream where it names them."""
    where = ", ".join(part for part in (fact.session, fact.stream) if part)
    sentence = SENTENCES[fact.kind](fact)
    return f"{where}: {sentence}" if where else sentence


def describe_all(facts: Iterable[Fact]) -> str:
    """Several facts on one line; empty when there are none."""
    return "; ".join(describe(fact) for fact in facts)
