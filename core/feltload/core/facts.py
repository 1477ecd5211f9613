"""Facts: what is reported to a person, as data.

A layer says what it found as a `Fact`: a kind, how serious it is, where it applies, and figures in SI. JSON carries
exactly that. The sentences live in `feltload.app.text` alone, so that one fact reads the same on every screen.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Self

Figure = float | int | str | bool | None | tuple[float, ...] | tuple[str, ...]


class Severity(StrEnum):
    """How much a fact weighs on the result beside it."""

    NOTE = "note"
    """Worth knowing; the result stands."""

    CAUTION = "caution"
    """The result stands with a doubt, or something was left out of it."""

    SERIOUS = "serious"
    """The result may be wrong."""


class CommonFact(StrEnum):
    """Kinds that belong to no room."""

    SAID = "said"
    """A sentence out of a file of an older format: figure `text`."""


@dataclass(frozen=True)
class Fact:
    """One thing found.

    Attributes
    ----------
    kind : str
        A member of the finding room's own ``...Fact`` enum (a `StrEnum`); its plain value when read back from JSON.
    severity : Severity
    session : str
        Name of the recording it was found in; empty when it holds for all.
    stream : str
        Name of the sensor's stream, where it is about one.
    span_s : tuple of float, optional
        From when to when, on the session's timeline.
    figures : mapping
        Name with its SI unit as suffix -> value.
    """

    kind: str
    severity: Severity = Severity.CAUTION
    session: str = ""
    stream: str = ""
    span_s: tuple[float, float] | None = None
    figures: Mapping[str, Figure] = field(default_factory=dict)

    def to_dict(self) -> dict[str, object]:
        """Plain values for JSON: empty parts left out, figures that are not finite as None."""
        parts: dict[str, object] = {"kind": str(self.kind), "severity": str(self.severity)}
        if self.session:
            parts["session"] = self.session
        if self.stream:
            parts["stream"] = self.stream
        if self.span_s is not None:
            parts["span_s"] = list(self.span_s)
        parts["figures"] = {name: _plain(value) for name, value in self.figures.items()}
        return parts

    @classmethod
    def from_dict(cls, stored: Mapping[str, object] | str) -> Self:
        """Read back; a plain sentence of an older format becomes `CommonFact.SAID`.

        Raises
        ------
        ValueError, TypeError, KeyError
            If it is no fact.
        """
        if isinstance(stored, str):
            return cls(CommonFact.SAID, figures={"text": stored})
        span, figures = stored.get("span_s"), stored.get("figures", {})
        if not isinstance(figures, Mapping):
            raise TypeError("figures must be a mapping")
        return cls(
            kind=str(stored["kind"]),
            severity=Severity(str(stored.get("severity", Severity.CAUTION))),
            session=str(stored.get("session", "")),
            stream=str(stored.get("stream", "")),
            span_s=None if not isinstance(span, (list, tuple)) else (float(span[0]), float(span[1])),
            figures={
                name: tuple(value) if isinstance(value, list) else value for name, value in figures.items()
            },
        )

    def figure(self, name: str) -> float:
        """A numeric figure; NaN when it is not known."""
        value = self.figures.get(name)
        return float(value) if isinstance(value, int | float) else float("nan")


def _plain(value: object) -> object:
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def unique_facts(facts: Iterable[Fact]) -> tuple[Fact, ...]:
    """The facts in their order, each once."""
    seen: list[Fact] = []
    for fact in facts:
        if fact not in seen:
            seen.append(fact)
    return tuple(seen)


def serious_facts(facts: Iterable[Fact]) -> tuple[Fact, ...]:
    """Those that put a result in doubt, in their order."""
    return tuple(fact for fact in facts if fact.severity is Severity.SERIOUS)
