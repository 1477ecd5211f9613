"""Documents say what is there: every room on the map, every path real, every column of the results."""

from __future__ import annotations

import re

from lever_profile import lever_profile
from source_tree import LAYERS, ROOT, layer_folder, rooms

DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
FORMATS = (ROOT / "docs" / "formats.md").read_text(encoding="utf-8")
TOP = ("tests", "tools", "benchmarks", "docs", "recordings")


def test_the_map_names_every_room_once_and_no_other() -> None:
    start = DEVELOPERS.index("## Map of the rooms")
    named = re.findall(
        r"^\| `([a-z_/]+)` \|", DEVELOPERS[start : DEVELOPERS.index("\n## ", start)], re.MULTILINE
    )
    there = [str(room.relative_to(ROOT / room.relative_to(ROOT).parts[0] / "feltload")) for room in rooms()]
    assert sorted(named) == sorted(there)


def test_paths_in_the_guide_exist() -> None:
    paths = set(re.findall(r"`([\w.]+(?:/[\w.]+)+/?)`", DEVELOPERS))
    missing = []
    for path in paths:
        first = path.split("/")[0]
        if "..." in path:
            continue
        if first in LAYERS and not path.startswith(f"{first}/feltload"):
            found = (layer_folder(first) / path.removeprefix(f"{first}/")).exists()
        else:
            found = (ROOT / path).exists() or first not in (*TOP, *LAYERS)
        if not found:
            missing.append(path)
    assert len(paths) > 40
    assert not missing


def test_the_guide_names_every_layer() -> None:
    for layer in LAYERS:
        assert f"| `{layer}` |" in DEVELOPERS


def test_formats_list_the_columns_of_the_profile_in_order() -> None:
    start = FORMATS.index("## Results of `feltload profile`")
    listed = re.findall(r"^\| `(\w+)` \|", FORMATS[start : FORMATS.index("\n### ", start)], re.MULTILINE)
    assert listed == list(lever_profile(loads_kg=(20.0, 40.0)).to_frame().columns)
    assert listed[1:] == list(lever_profile(loads_kg=(20.0,)).to_frame().columns)
