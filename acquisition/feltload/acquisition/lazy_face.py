"""Public names of a package that are imported when they are first used.

A command that only reads a rig file should not wait for the numerical libraries behind the estimators.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from importlib import import_module


def lazy_names(package: str, homes: Mapping[str, str]) -> Callable[[str], object]:
    """Return the package's ``__getattr__`` (PEP 562).

    Parameters
    ----------
    package : str
        The package's ``__name__``.
    homes : mapping
        Module inside the package -> the public names it holds, separated by spaces.

    Raises
    ------
    AttributeError
        By the returned function, for a name that is not listed.
    """
    module_of = {name: module for module, names in homes.items() for name in names.split()}

    def get(name: str) -> object:
        if name not in module_of:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        value: object = getattr(import_module(f"{package}.{module_of[name]}"), name)
        setattr(sys.modules[package], name, value)
        return value

    return get
