"""Sentences of the facts about a recording that runs."""

from __future__ import annotations

from collections.abc import Mapping

from feltload.app.running.facts import LiveFact
from feltload.app.text.common import Sentence

SENTENCES: Mapping[str, Sentence] = {
    LiveFact.FORCE_NOT_KNOWN: lambda fact: f"no force can be shown: it {fact.figures['what']}",
    LiveFact.POSITION_NOT_KNOWN: lambda _: (
        "the position is not known yet; it shows once the arm was moved slowly, as far as it is to be used"
    ),
    LiveFact.NO_PROFILE_YET: lambda fact: "; ".join(
        part for part in (f"no profile yet: {fact.figures['what']}", str(fact.figures["remedy"])) if part
    ),
}
"""Kind -> what is said of it."""
