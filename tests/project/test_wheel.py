"""The wheel installs into a fresh environment and runs outside the checkout."""

from __future__ import annotations

import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

from source_tree import LAYERS, ROOT


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("dist")
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--outdir", str(out), str(ROOT)],
        check=True,
        capture_output=True,
        text=True,
    )
    (built,) = out.glob("*.whl")
    return built


@pytest.mark.timeout(300)
def test_wheel_holds_all_layers_and_no_namespace_init(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    for layer in LAYERS:
        assert f"feltload/{layer}/__init__.py" in names
        assert f"feltload/{layer}/py.typed" in names
        # The stub is read when a public name is first used.
        assert layer == "app" or f"feltload/{layer}/__init__.pyi" in names
    assert "feltload/emulator/radio/private_bus.conf" in names
    assert [
        n for n in names if n.startswith("feltload/acquisition/wire/descriptions/") and n.endswith(".toml")
    ]
    assert "feltload/__init__.py" not in names
    assert not [n for n in names if n.startswith(("tests/", "benchmarks/", "recordings/"))]


@pytest.mark.timeout(300)
@pytest.mark.needs("pty")
def test_wheel_runs_the_demo_outside_the_checkout(wheel: Path, tmp_path: Path) -> None:
    """A short demo: real processes, real ptys, the installed package only."""
    venv.create(tmp_path / "venv", with_pip=True)
    bin_dir = tmp_path / "venv" / "bin"
    # The wheel itself goes into the new environment; its dependencies are lent by the environment that runs the
    # tests, so that this test needs no network. Only third-party packages come along: the checkout is
    # an editable install there, found through a .pth file that a plain path entry does not read.
    subprocess.run(
        [str(bin_dir / "python"), "-m", "pip", "install", "--quiet", "--no-deps", "--no-index", str(wheel)],
        check=True,
    )
    lent = os.pathsep.join(entry for entry in sys.path if entry.endswith("site-packages"))
    env = {k: v for k, v in os.environ.items() if k not in {"PYTHONHOME"}} | {"PYTHONPATH": lent}
    where = subprocess.run(
        [str(bin_dir / "python"), "-c", "import feltload.app as a; print(a.__file__)"],
        cwd=tmp_path,
        env=env,
        check=True,
        capture_output=True,
        text=True,
    ).stdout.strip()
    assert Path(where).is_relative_to(tmp_path / "venv")
    emulator = subprocess.run(
        [str(bin_dir / "python"), "-m", "feltload.emulator", "--help"],
        cwd=tmp_path,
        env=env,
        check=True,
        capture_output=True,
        text=True,
    )
    assert "--scenario" in emulator.stdout
    done = subprocess.run(
        [str(bin_dir / "feltload"), "demo", "--out", str(tmp_path / "demo")],
        cwd=tmp_path,
        env=env,
        capture_output=True,
        text=True,
        timeout=240,
    )
    assert done.returncode == 0, done.stderr
    report = (tmp_path / "demo" / "report.html").read_text(encoding="utf-8")
    assert "<svg" in report
    assert str(tmp_path / "demo" / "report.html") in done.stdout.replace("\n", "")
