"""Remedies for a name that is not known: the one it looks like, or all there are."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence


def nearest(name: str, known: Sequence[str]) -> str:
    """Ask for the known name that is spelt most alike, or list them."""
    close = difflib.get_close_matches(name, known, n=1, cutoff=0.5)
    return f'did you mean "{close[0]}"?' if close else one_of(known)


def one_of(names: Iterable[str]) -> str:
    """List the known names."""
    return "known are " + ", ".join(f'"{name}"' for name in names)
