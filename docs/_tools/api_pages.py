"""A page of the API reference for each layer, from its face: every public name once, in the order of its kind."""

from __future__ import annotations

import importlib
import inspect
from collections.abc import Sequence
from pathlib import Path

LAYERS = ("acquisition", "signal", "calibration", "coaching", "core", "emulator")
"""Those with a public face, in the order in which most people need them."""


def write_api_pages(folder: Path, layers: Sequence[str]) -> None:
    """Write a page for each layer, and the list of them; files that are right already are left alone."""
    folder.mkdir(exist_ok=True)
    for page in folder.glob("*.rst"):
        if page.stem not in (*layers, "index"):
            page.unlink()
    for layer in layers:
        _write(folder / f"{layer}.rst", layer_page(layer))
    names = "\n".join(f"   {layer}" for layer in layers)
    head = "API reference\n=============\n\nPublic names by layer. Quantities are in SI, with the unit as suffix.\n\n"
    _write(folder / "index.rst", f"{head}.. toctree::\n   :maxdepth: 1\n\n{names}\n")


def layer_page(layer: str) -> str:
    """The page of one layer, as reStructuredText."""
    module = importlib.import_module(f"feltload.{layer}")
    title = f"feltload.{layer}"
    lines = [title, "=" * len(title), "", (module.__doc__ or "").strip().partition("\n")[0], ""]
    kinds: dict[str, list[str]] = {"Functions": [], "Classes": [], "Errors": [], "Facts": [], "Constants": []}
    for name in sorted(dir(module), key=str.casefold):
        value = getattr(module, name)
        if not name.startswith("_"):
            kinds[_kind(name, value)].append(_entry(f"feltload.{layer}", name, value))
    for kind, entries in kinds.items():
        if entries:
            lines += [kind, "-" * len(kind), "", *entries]
    return "\n".join(lines) + "\n"


def _kind(name: str, value: object) -> str:
    if inspect.isclass(value):
        if issubclass(value, Exception):
            return "Errors"
        return "Facts" if name.endswith("Fact") else "Classes"
    return "Functions" if inspect.isroutine(value) else "Constants"


def _entry(module: str, name: str, value: object) -> str:
    """One directive; what is no routine and no class is named with its value."""
    if inspect.isclass(value) and value.__module__.startswith("feltload"):
        return f".. autoclass:: {module}.{name}\n   :members:\n   :exclude-members: __init__\n"
    if inspect.isroutine(value):
        return f".. autofunction:: {module}.{name}\n"
    shown = repr(value) if len(repr(value)) < 80 else type(value).__name__
    return f".. py:data:: {module}.{name}\n   :no-index:\n\n   ``{shown}``\n"


def _write(path: Path, text: str) -> None:
    if not path.exists() or path.read_text(encoding="utf-8") != text:
        path.write_text(text, encoding="utf-8")
