"""The source tree as the project-level tests look at it: layers, rooms and modules."""

from __future__ import annotations

from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

LAYERS = ("core", "acquisition", "signal", "calibration", "coaching", "emulator", "app")
"""Source roots, by their names."""


def layer_folder(layer: str) -> Path:
    return ROOT / layer / "feltload" / layer


def rooms() -> list[Path]:
    """Packages below the layers, such as `signal/feltload/signal/hinge`."""
    return sorted(
        init.parent
        for layer in LAYERS
        for init in layer_folder(layer).rglob("__init__.py")
        if init.parent != layer_folder(layer)
    )


def modules() -> list[Path]:
    return sorted(path for layer in LAYERS for path in layer_folder(layer).rglob("*.py"))


def dotted(path: Path) -> str:
    """Name under which Python imports a module or room, such as `feltload.signal.hinge.smoother.solver`."""
    parts = path.relative_to(ROOT).with_suffix("").parts[1:]
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
