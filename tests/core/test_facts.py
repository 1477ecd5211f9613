"""Facts survive JSON, also those of older files, and keep their order."""

from __future__ import annotations

import json

from feltload.core import CommonFact, Fact, Severity, unique_facts


def test_a_fact_survives_json() -> None:
    fact = Fact(
        "x", Severity.SERIOUS, "row", "force", (1.0, 2.5), {"size_n": 3.25, "count": 2, "where": "end"}
    )
    assert Fact.from_dict(json.loads(json.dumps(fact.to_dict()))) == fact


def test_a_figure_that_is_not_finite_becomes_null() -> None:
    stored = json.loads(json.dumps(Fact("x", figures={"size_n": float("nan")}).to_dict(), allow_nan=False))
    assert stored["figures"] == {"size_n": None}
    assert Fact.from_dict(stored).figure("size_n") != Fact.from_dict(stored).figure("size_n")


def test_a_sentence_of_an_older_file_is_kept() -> None:
    assert Fact.from_dict("the sensor slipped") == Fact(
        CommonFact.SAID, figures={"text": "the sensor slipped"}
    )


def test_each_fact_once_in_order() -> None:
    one, two = Fact("b"), Fact("a")
    assert unique_facts([one, two, one]) == (one, two)
