"""Each layer has one public face: a stub that lists its names once, read by people, tools and Python alike."""

from __future__ import annotations

import ast
import importlib
import inspect
import json
import pydoc
import subprocess
import sys
from pathlib import Path

import pytest

from source_tree import LAYERS, ROOT, dotted, layer_folder, modules

WITH_FACE = tuple(layer for layer in LAYERS if layer != "app")
HEAVY = ("numpy", "pandas", "scipy", "matplotlib", "pydantic", "pint", "bleak", "mcap")


def listed(layer: str) -> list[str]:
    stub = ast.parse((layer_folder(layer) / "__init__.pyi").read_text(encoding="utf-8"))
    assert all(isinstance(node, ast.ImportFrom) for node in stub.body), (
        "the imports are the list; no second one"
    )
    return [alias.asname or alias.name for node in stub.body for alias in node.names]  # type: ignore[attr-defined]


@pytest.mark.parametrize("layer", WITH_FACE)
def test_every_listed_name_exists_and_is_listed_once(layer: str) -> None:
    names = listed(layer)
    assert len(names) == len(set(names))
    face = importlib.import_module(f"feltload.{layer}")
    assert set(face.__all__) == set(names) <= set(dir(face))
    for name in names:
        assert getattr(face, name) is not None


@pytest.mark.parametrize("layer", WITH_FACE)
def test_no_public_name_is_that_of_a_module_or_room_beside_the_face(layer: str) -> None:
    # `from feltload.signal import name` would give the module once anybody has imported it.
    folder = layer_folder(layer)
    beside = {path.stem for path in folder.glob("*.py")} | {
        path.parent.name for path in folder.glob("*/__init__.py")
    }
    assert not beside & set(listed(layer))


@pytest.mark.parametrize("layer", WITH_FACE)
def test_public_functions_and_classes_have_help(layer: str) -> None:
    face = importlib.import_module(f"feltload.{layer}")
    for name in face.__all__:
        value = getattr(face, name)
        if inspect.isfunction(value) or (inspect.isclass(value) and value.__module__.startswith("feltload")):
            assert inspect.getdoc(value), name


def test_help_shows_an_estimators_parameters() -> None:
    import feltload.signal as fs

    text = pydoc.render_doc(fs.estimate, renderer=pydoc.plaintext)
    assert "estimate(" in text
    assert "Parameters" in text


@pytest.mark.parametrize("layer", LAYERS)
def test_importing_a_face_imports_no_library_before_use(layer: str) -> None:
    code = f"import sys, json, feltload.{layer}; print(json.dumps(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(json.loads(done.stdout))
    assert f"feltload.{layer}" in loaded
    assert not loaded & set(HEAVY)


def imports(path: Path) -> list[tuple[str, str | None]]:
    """Modules that a file imports, each with the name taken from it; also those imported inside functions."""
    found: list[tuple[str, str | None]] = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [(alias.name, None) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: an import inside a layer names the whole way"
            found += [(node.module or "", alias.name) for alias in node.names]
    return found


def test_other_layers_are_asked_for_public_names() -> None:
    # The import linter keeps the doors shut; here: what comes through a door is a name of its list.
    public = {f"feltload.{layer}": set(listed(layer)) for layer in WITH_FACE}
    strange = []
    for module in modules():
        own = f"feltload.{module.relative_to(ROOT).parts[0]}"
        for source, name in imports(module):
            foreign = source.startswith("feltload.") and not f"{source}.".startswith(f"{own}.")
            if foreign and name not in public.get(source, ()):
                strange.append(f"{dotted(module)}: from {source} import {name}")
    assert not strange


def test_the_product_names_the_emulator_only_to_start_it() -> None:
    naming = [
        dotted(path)
        for path in modules()
        if path.relative_to(ROOT).parts[0] != "emulator"
        and "feltload.emulator" in path.read_text(encoding="utf-8")
    ]
    assert naming == ["feltload.app.sessions.emulated_rig"]
    starter = (layer_folder("app") / "sessions" / "emulated_rig.py").read_text(encoding="utf-8")
    assert '"-m", "feltload.emulator"' in starter
