"""The source roots stay portions of one namespace package, every tool knows all of them, nothing is shadowed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import sysconfig
import tomllib

import pytest

from source_tree import LAYERS, ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
TOOLS = PROJECT["tool"]
CONTRACTS = TOOLS["importlinter"]["contracts"]


def contracts(kind: str) -> list[dict]:
    return [contract for contract in CONTRACTS if contract["type"] == kind]


def test_feltload_is_a_namespace_package() -> None:
    import feltload

    assert feltload.__file__ is None


def test_the_standard_librarys_signal_is_not_shadowed() -> None:
    stdlib = sysconfig.get_paths()["stdlib"]
    assert signal.__file__ is not None
    assert os.path.commonpath([stdlib, signal.__file__]) == stdlib


def test_signal_is_not_shadowed_for_python_run_in_the_root() -> None:
    code = "import signal, asyncio; asyncio.run(asyncio.sleep(0)); print(signal.__file__)"
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        env=dict(os.environ),
    )
    assert not done.stdout.startswith(str(ROOT / "signal"))


@pytest.mark.parametrize("layer", LAYERS)
def test_source_roots_hold_only_their_portion(layer: str) -> None:
    root = ROOT / layer
    assert not (root / "__init__.py").exists()
    assert not (root / "feltload" / "__init__.py").exists()
    assert {p.name for p in (root / "feltload").iterdir() if p.name != "__pycache__"} == {layer}
    assert (root / "feltload" / layer / "py.typed").exists()


def test_every_source_root_is_a_layer_that_the_tools_know() -> None:
    found = {path.parent.name for path in ROOT.glob("*/feltload")}
    assert found == set(LAYERS)
    assert set(TOOLS["hatch"]["build"]["dev-mode-dirs"]) == found
    assert {path.split("/")[0] for path in TOOLS["hatch"]["build"]["targets"]["wheel"]["packages"]} == found
    assert set(TOOLS["mypy"]["files"]) == found
    assert set(TOOLS["mypy"]["mypy_path"].split(":")) == found
    assert found <= set(TOOLS["ruff"]["src"])


def test_every_layer_is_in_every_import_contract() -> None:
    # The import linter's own `exhaustive` needs a package around the layers; theirs is a namespace without one.
    names = {f"feltload.{layer}" for layer in LAYERS}
    assert set(TOOLS["importlinter"]["root_packages"]) == names
    (order,) = contracts("layers")
    assert {name.strip() for line in order["layers"] for name in line.split("|")} == names
    (circles,) = contracts("acyclic_siblings")
    assert set(circles["ancestors"]) == names
    (apart,) = contracts("forbidden")
    assert set(apart["forbidden_modules"]) == names - {"feltload.core", "feltload.emulator"}
    # Nobody may import the app or the emulator at all: they need no door.
    behind = {tuple(c["protected_modules"]): tuple(c["allowed_importers"]) for c in contracts("protected")}
    assert behind == {(f"{name}.*",): (name,) for name in names - {"feltload.app", "feltload.emulator"}}


def test_no_contract_has_an_exception() -> None:
    assert not [contract["name"] for contract in CONTRACTS if contract.get("ignore_imports")]
