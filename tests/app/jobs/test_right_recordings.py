"""What looks like hands and what explains it otherwise, without a recording: which facts refuse a profile."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pytest

from feltload.app.errors import UsageError
from feltload.app.jobs.measuring.right_recordings import require_unhelped
from feltload.core import Fact, Severity
from feltload.signal import HingeFact, ProfileFact

DIFFER = {"count": 12, "of": 12, "apart_n": 12.0, "share": 0.06, "gives": False}


def _judge(*facts: Fact) -> None:
    recording = SimpleNamespace(info=SimpleNamespace(kind=None))
    require_unhelped([Path("row.mcap")], [recording], list(facts))


def _differ(**more: object) -> Fact:
    return Fact(ProfileFact.HALF_REPETITIONS_DIFFER, Severity.SERIOUS, figures={**DIFFER, **more})


def test_half_repetitions_that_differ_look_helped() -> None:
    with pytest.raises(UsageError, match="looks like a set helped by hand: 12 of 12 half-repetitions"):
        _judge(_differ())


@pytest.mark.parametrize("why", [{"gives": True}, {"slow_hz": 10.0}])
def test_what_explains_them_is_no_help(why: dict[str, object]) -> None:
    _judge(_differ(**why))


def test_a_gyroscope_at_its_limit_is_said_before_hands() -> None:
    figures = {"sensor": "gyroscope", "count": 936}
    _judge(Fact(HingeFact.AT_LIMIT, Severity.SERIOUS, figures=figures), _differ())
