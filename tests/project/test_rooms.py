"""Rooms stay rooms: few short modules with one subject, and a door plate that says what is inside."""

from __future__ import annotations

import ast
from pathlib import Path

from source_tree import LAYERS, dotted, layer_folder, modules, rooms

LONGEST_MODULE_LINES = 300
MODULES_IN_A_ROOM = 14


def story(module: Path) -> str:
    return ast.get_docstring(ast.parse(module.read_text(encoding="utf-8"))) or ""


def inside(room: Path) -> set[str]:
    return {path.stem for path in room.glob("*.py")} - {"__init__", "__main__"}


def test_no_module_is_longer_than_a_reader_can_hold() -> None:
    lines = {dotted(path): len(path.read_text(encoding="utf-8").splitlines()) for path in modules()}
    assert not {name: count for name, count in lines.items() if count > LONGEST_MODULE_LINES}


def test_no_room_holds_more_modules_than_a_reader_takes_in() -> None:
    holding = {dotted(room): len(inside(room)) for room in [*map(layer_folder, LAYERS), *rooms()]}
    full = {name: count for name, count in holding.items() if count > MODULES_IN_A_ROOM}
    assert not full


def test_every_module_says_what_it_is_about() -> None:
    assert not [dotted(path) for path in modules() if not story(path)]


def test_every_room_says_what_it_holds_and_what_goes_in_and_out() -> None:
    silent = []
    for room in rooms():
        holds, _, ways = story(room / "__init__.py").partition("\n\n")
        if not (holds.endswith(".") and ways.startswith("In: ") and "\nOut: " in ways):
            silent.append(dotted(room))
    assert not silent, "what it holds, then a line 'In: ...' and a line 'Out: ...'"


def test_file_names_do_not_repeat_the_rooms_name() -> None:
    assert not [
        f"{dotted(room)}.{name}"
        for room in rooms()
        for name in inside(room)
        if name.startswith(f"{room.name}_")
    ]
