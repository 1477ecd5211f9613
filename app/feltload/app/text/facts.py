"""One sentence for one fact, the same on every screen.

Each layer's kinds have their sentences in a module of this room; a kind without one is a defect that a test finds.
"""

from __future__ import annotations

import errno
from collections.abc import Iterable, Mapping

from feltload.app.errors import DamagedInputError
from feltload.app.text import acquisition, calibration, coaching, common, jobs, signal
from feltload.app.text.common import Sentence
from feltload.app.text.computer import doctor
from feltload.app.text.design import cam_facts, proposal_facts
from feltload.app.text.live import facts as live
from feltload.app.text.numbers import sentence
from feltload.app.text.study import facts as study
from feltload.core import Fact, FeltloadError

NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
"""Errors of a full disk, a used-up quota, a file larger than allowed."""

SENTENCES: Mapping[str, Sentence] = {
    **common.SENTENCES,
    **acquisition.SENTENCES,
    **signal.SENTENCES,
    **calibration.SENTENCES,
    **cam_facts.SENTENCES,
    **proposal_facts.SENTENCES,
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


def error_line(error: Exception) -> str:
    """An error in one line: what is wrong, where, and what to do."""
    if isinstance(error, DamagedInputError):
        error = error.with_context(what=describe_all(error.damage))
    if isinstance(error, FeltloadError):
        return str(error)
    if isinstance(error, OSError) and error.errno in NO_ROOM:
        place = "" if error.filename is None else f"{error.filename}: "
        return f"{place}nothing more can be written ({error.strerror}); make room, then run it again"
    if isinstance(error, OSError) and error.filename is not None:
        return f"{error.filename}: {error.strerror}; check the path and its permissions"
    kind = type(error).__name__
    return f"internal error ({kind}: {error}); run again with --debug and report the traceback"
