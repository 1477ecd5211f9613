"""Names of the sources of scatter, and of what was done again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from feltload.app.text.numbers import listed
from feltload.coaching import RESIDUAL

if TYPE_CHECKING:
    from feltload.app.jobs.study.study import Study

AGAIN = {
    "remount": "with the sensors mounted again",
    "operator": "by another operator",
    "day": "on another day",
}
NAMES = {RESIDUAL: "residual"}


def term_name(term: str) -> str:
    """``machine × operator``, as a paper writes it."""
    return NAMES.get(term, term).replace(" x ", " × ")


def again_words(study: Study) -> str:
    """What was done again between the measurements of a machine, which is all that the scatter holds."""
    # A study's job loads its statistics; the sentences of all facts load this module.
    from feltload.app.jobs.study.study import labels_of

    labels = labels_of(study.data.rows)
    varied = [words for name, words in AGAIN.items() if len(set(labels.get(name, ()))) > 1]
    return listed(varied) or "as it was repeated here"
