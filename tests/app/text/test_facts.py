"""Every kind of fact has its sentence, and no kind is named twice."""

from __future__ import annotations

import importlib
import pkgutil
from collections import Counter
from enum import StrEnum

import pytest

from feltload.app.text.facts import SENTENCES, describe
from feltload.core import CommonFact, Fact

LAYERS = ("core", "acquisition", "signal", "calibration", "coaching", "app")


def fact_enums() -> list[type[StrEnum]]:
    """Every ``...Fact`` enum that a module of the product defines."""
    enums = []
    for layer in LAYERS:
        package = importlib.import_module(f"feltload.{layer}")
        for found in pkgutil.walk_packages(package.__path__, f"feltload.{layer}."):
            if found.name.endswith("__main__"):
                continue
            module = importlib.import_module(found.name)
            enums += [
                value
                for name, value in vars(module).items()
                if name.endswith("Fact")
                and isinstance(value, type)
                and issubclass(value, StrEnum)
                and value.__module__ == found.name
            ]
    return enums


@pytest.fixture(scope="module")
def kinds() -> list[StrEnum]:
    return [kind for enum in fact_enums() for kind in enum]


def test_the_walk_finds_the_enums(kinds: list[StrEnum]) -> None:
    assert CommonFact.SAID in kinds


def test_every_kind_has_a_sentence(kinds: list[StrEnum]) -> None:
    assert [kind for kind in kinds if kind not in SENTENCES] == []


def test_every_sentence_is_of_a_kind(kinds: list[StrEnum]) -> None:
    assert sorted(set(SENTENCES) - {str(kind) for kind in kinds}) == []


def test_no_kind_is_named_twice(kinds: list[StrEnum]) -> None:
    twice = [kind for kind, count in Counter(str(kind) for kind in kinds).items() if count > 1]
    assert twice == []


def test_kinds_are_in_kebab_case(kinds: list[StrEnum]) -> None:
    assert [kind for kind in kinds if kind != kind.lower() or "_" in kind or " " in kind] == []


def test_a_fact_is_led_by_where_it_was_found() -> None:
    fact = Fact(CommonFact.SAID, session="monday", stream="cell", figures={"text": "it was quiet"})
    assert describe(fact) == "monday, cell: it was quiet"
