"""One sentence for one fact, the same on every screen.

Each layer's kinds have their sentences in a module of this room; a kind without one is a defect that a test finds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from feltload.app.text import acquisition, calibration, coaching, common, jobs, signal
from feltload.app.text.common import Sentence
from feltload.app.text.computer import doctor
from feltload.app.text.design import cam_facts
from feltload.app.text.live import facts as live
from feltload.app.text.numbers import sentence
from feltload.app.text.study import facts as study
from feltload.core import Fact

SENTENCES: Mapping[str, Sentence] = {
    **common.SENTENCES,
    **acquisition.SENTENCES,
    **signal.SENTENCES,
    **calibration.SENTENCES,
    **cam_facts.SENTENCES,
    **coaching.SENTENCES,
    **study.SENTENCES,
    **jobs.SENTENCES,
    **doctor.SENTENCES,
    **live.SENTENCES,
}
"""Kind -> what is said of it, without the name of its session."""


def describe(fact: Fact) -> str:
    """The fact in words, led by its session and stream where it names them."""
    where, words = _where(fact), SENTENCES[fact.kind](fact)
    return f"{where}: {words}" if where else words


def describe_fully(fact: Fact) -> str:
    """The same with a full stop, and with a capital unless a name leads."""
    where, words = _where(fact), SENTENCES[fact.kind](fact)
    return f"{where}: {words.rstrip('.')}." if where else sentence(words)


def describe_all(facts: Iterable[Fact]) -> str:
    """Several facts on one line; empty when there are none."""
    return "; ".join(describe(fact) for fact in facts)


def _where(fact: Fact) -> str:
    return ", ".join(part for part in (fact.session, fact.stream) if part)
