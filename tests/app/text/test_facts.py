"""Every kind of fact has its sentence, and no kind is named twice."""

from __future__ import annotations

import importlib
import json
import pkgutil
from collections import Counter
from enum import StrEnum
from pathlib import Path

import pytest

from feltload.acquisition import DamageFact, LinkFact, StreamHealth
from feltload.app.errors import AppError
from feltload.app.files.provenance import Provenance, RecordingSource, load_provenance
from feltload.app.text.facts import SENTENCES, describe, describe_all
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


def test_several_facts_stand_on_one_line() -> None:
    damage = (
        Fact(DamageFact.BYTES_LEFT_OUT, figures={"bytes": 12}),
        Fact(DamageFact.RECORDING_ENDS, figures={"at_s": 3.456}),
    )
    assert describe_all(damage) == "12 bytes are damaged and were left out; it ends at 3.46 s"
    assert describe_all(()) == ""


def test_a_lost_link_says_what_is_known_of_it() -> None:
    figures = {"what": "the serial port was lost", "reason": "lost"}
    assert describe(Fact(LinkFact.LINK_LOST, figures=figures)) == "the serial port was lost"
    while_recording = Fact(LinkFact.LINK_LOST, figures={**figures, "where": "COM3", "at_s": 2.04})
    assert describe(while_recording) == "COM3: the serial port was lost, 2.0 s after the start"


def test_one_is_not_several() -> None:
    health = StreamHealth("cell", lost=1, resets=2)
    assert [describe(fact) for fact in health.facts()] == [
        "cell: 1 sample is missing",
        "cell: the sensor started again 2 times",
    ]


def test_provenance_of_an_older_version_keeps_its_sentences(tmp_path: Path) -> None:
    """Before there were facts, one sentence stood for all the damage, and one for each fault."""
    stored = {
        "feltload": "0.0.1",
        "recordings": [
            {
                "name": "a.mcap",
                "sha256": "9f" * 32,
                "load_kg": 40.0,
                "started_utc": "",
                "damage": "it ends at 3.46 s",
                "streams": [
                    {"name": "force", "samples": 3, "rate_hz": None, "faults": ["1 sample is missing"]}
                ],
            },
            {"name": "b.mcap", "sha256": "9f" * 32, "load_kg": 40.0, "started_utc": "", "damage": None},
        ],
    }
    (tmp_path / "provenance.json").write_text(json.dumps(stored))
    damaged, whole = load_provenance(tmp_path).recordings
    assert describe_all(damaged.damage) == "it ends at 3.46 s"
    assert describe_all(damaged.streams[0].faults) == "1 sample is missing"
    assert whole.damage == ()


def test_provenance_gives_its_facts_back(tmp_path: Path) -> None:
    damage = (Fact(DamageFact.BLOCK_LEFT_OUT, figures={"duration_s": 0.4}),)
    source = RecordingSource(name="a.mcap", sha256="9f" * 32, load_kg=40.0, started_utc="", damage=damage)
    Provenance(feltload="0.0.1", recordings=(source,)).save(tmp_path)
    assert load_provenance(tmp_path).recordings == (source,)


def test_a_fault_that_is_no_fact_is_one_clear_line(tmp_path: Path) -> None:
    stored = {
        "feltload": "0.0.1",
        "recordings": [
            {"name": "a", "sha256": "", "load_kg": 1.0, "started_utc": "", "damage": [{"figures": {}}]}
        ],
    }
    (tmp_path / "provenance.json").write_text(json.dumps(stored))
    with pytest.raises(AppError, match=r"provenance\.json") as caught:
        load_provenance(tmp_path)
    assert "\n" not in str(caught.value)
