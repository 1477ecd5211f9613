"""One sentence for one fact, the same on every screen.

Each layer's kinds have their sentences in a module of this room; a kind without one is a defect that a test finds.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from feltload.core import CommonFact, Fact

Sentence = Callable[[Fact], str]

SENTENCES: Mapping[str, Sentence] = {
    CommonFact.SAID: lambda fact: str(fact.figures.get("text", "")),
}
"""Kind -> what is said of it, without the name of its session."""


def describe(fact: Fact) -> str:
    """The fact in words, led by its session and stream where it names them."""
    where = ", ".join(part for part in (fact.session, fact.stream) if part)
    said = SENTENCES[fact.kind](fact)
    return f"{where}: {said}" if where else said
