"""The seven source roots stay portions of one namespace package, and nothing shadows the standard library."""

from __future__ import annotations

import importlib
import os
import signal
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LAYERS = ("core", "acquisition", "signal", "calibration", "coaching", "emulator", "app")


def test_feltload_is_a_namespace_package() -> None:
    import feltload

    assert feltload.__file__ is None


def test_the_standard_librarys_signal_is_not_shadowed() -> None:
    stdlib = Path(sysconfig.get_paths()["stdlib"])
    assert signal.__file__ is not None
    assert Path(signal.__file__).resolve().is_relative_to(stdlib.resolve())


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
    assert not Path(done.stdout.strip()).is_relative_to(ROOT / "signal")


@pytest.mark.parametrize("layer", LAYERS)
def test_source_roots_hold_only_their_portion(layer: str) -> None:
    root = ROOT / layer
    assert not (root / "__init__.py").exists()
    assert not (root / "feltload" / "__init__.py").exists()
    assert {p.name for p in (root / "feltload").iterdir() if p.name != "__pycache__"} == {layer}
    assert (root / "feltload" / layer / "py.typed").exists()


@pytest.mark.parametrize("layer", LAYERS)
def test_every_public_name_exists_and_is_listed_once(layer: str) -> None:
    # Their order is the linter's to keep (constants, classes, functions).
    face = importlib.import_module(f"feltload.{layer}")
    assert len(face.__all__) == len(set(face.__all__))
    for name in face.__all__:
        assert getattr(face, name) is not None


@pytest.mark.parametrize("layer", LAYERS)
def test_every_error_of_a_layer_descends_from_one_base(layer: str) -> None:
    from feltload.core import FeltloadError

    module = importlib.import_module(f"feltload.{layer}.errors")
    errors = [v for v in vars(module).values() if isinstance(v, type) and issubclass(v, Exception)]
    assert errors
    assert all(issubclass(e, FeltloadError) for e in errors)
