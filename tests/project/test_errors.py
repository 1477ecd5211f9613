"""Every error that a layer defines hangs on the one tree; `tests/core/test_errors.py` checks the tree itself."""

from __future__ import annotations

import importlib

import pytest

from feltload.core import FeltloadError
from source_tree import LAYERS

BRANCHES = {layer: importlib.import_module(f"feltload.{layer}.errors") for layer in LAYERS}


@pytest.mark.parametrize("layer", LAYERS)
def test_every_error_of_a_layer_descends_from_one_base(layer: str) -> None:
    kinds = [v for v in vars(BRANCHES[layer]).values() if isinstance(v, type) and issubclass(v, Exception)]
    assert kinds
    assert all(issubclass(kind, FeltloadError) for kind in kinds)
