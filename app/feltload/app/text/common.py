"""Sentences of the facts that belong to no layer, and what a sentence is made of."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from feltload.core import CommonFact, Fact

Sentence = Callable[[Fact], str]
"""From a fact to what is said of it, without the name of its session."""

SENTENCES: Mapping[str, Sentence] = {
    CommonFact.SAID: lambda fact: str(fact.figures.get("text", "")),
}


def numbers_in(fact: Fact, name: str) -> list[float]:
    """A figure of several numbers; empty when it is not known."""
    values = fact.figures.get(name, ())
    return [float(value) for value in values] if isinstance(values, tuple) else []
