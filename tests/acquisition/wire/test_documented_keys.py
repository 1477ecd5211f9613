"""Every key of a description is in the tables of docs/formats.md, and no other is."""

from __future__ import annotations

import re
import tomllib

import pytest

from feltload.acquisition.wire.checks.named import check_by_name
from feltload.acquisition.wire.checks.sums import SUMS
from feltload.acquisition.wire.descriptions import link_config
from feltload.acquisition.wire.descriptions.checksum import Checksum
from feltload.acquisition.wire.descriptions.fields import BINARY_SIZES, FieldDescription, Presence
from feltload.acquisition.wire.descriptions.schema import RigDescription, StreamDescription
from source_tree import ROOT

FORMATS = (ROOT / "docs" / "formats.md").read_text(encoding="utf-8")
EVERY_KEY = FORMATS[FORMATS.index("### Every key") : FORMATS.index("## CSV of your own logger")]


def table(title: str) -> list[tuple[list[str], str]]:
    """Rows of a table: the names in its first cell, and its second cell."""
    start = EVERY_KEY.index(f"| {title} | ")
    rows = EVERY_KEY[start : EVERY_KEY.find("\n\n", start)].splitlines()[2:]
    cells = [row.strip("| ").split(" | ", 1) for row in rows]
    return [(re.findall(r"`(\w+)`", first), second) for first, second in cells]


@pytest.mark.parametrize(
    ("title", "model", "beside"),
    [
        ("rig file", RigDescription, set()),
        ("stream", StreamDescription, {"description", "set"}),
        ("field", FieldDescription, set()),
        ("checksum", Checksum, set()),
    ],
)
def test_keys_of_a_table(title, model, beside):
    listed = [name for names, _ in table(title) for name in names]
    assert sorted(listed) == sorted(set(model.model_fields) | beside)


def test_keys_of_links():
    models = {
        model.model_fields["type"].annotation.__args__[0]: model
        for model in vars(link_config).values()
        if isinstance(model, type) and "type" in getattr(model, "model_fields", {})
    }
    rows = {re.match(r"`(\w+)`", second).group(1): second for _, second in table("link")}
    assert set(rows) == set(models)
    for type_, second in rows.items():
        words = set(re.findall(r"`(\w+)`", second)) - {type_}
        keys = set(models[type_].model_fields) - {"type"}
        assert keys <= words, type_
        values = {"auto", "none", "even", "odd", "mark", "space", "lsl", "records", "f64", "device_time"}
        assert words - keys <= values, type_


def test_keys_of_presence_types_and_checks_are_named():
    assert all(f"`{key}`" in EVERY_KEY for key in [*Presence.model_fields, *BINARY_SIZES])
    checks = next(second for names, second in table("checksum") if names == ["name"])
    named = re.findall(r"`([A-Z]+-\d+)`", checks)
    assert {check_by_name(name).name for name in named} == {name.partition("/")[0] for name in SUMS}


def test_examples_are_rigs():
    start = FORMATS.index("## Rig files and stream descriptions")
    part = FORMATS[start : FORMATS.index("## CSV of your own logger")]
    examples = re.findall(r"```toml\n(.*?)```", part, re.DOTALL)
    assert len(examples) == 5
    for text in examples:
        for stream in tomllib.loads(text)["streams"]:
            if "description" not in stream:
                StreamDescription.model_validate(stream)
