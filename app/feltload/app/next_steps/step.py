"""One command to go on with. What a command does not know stands in capitals: RIG.toml, MACHINE.toml, RESULT."""

from __future__ import annotations

import shlex
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

Given = Mapping[str, Any]
"""Values of the command's parameters by name, defaults included."""


@dataclass(frozen=True)
class NextStep:
    """One command to go on with.

    Attributes
    ----------
    words : tuple of str or Path
        After ``feltload``.
    why : str
        What it is for, where the command alone does not say.
    """

    words: tuple[str | Path, ...]
    why: str = ""

    @property
    def command(self) -> str:
        """As it is typed."""
        return shlex.join(["feltload", *map(str, self.words)])


def percent(share: float) -> str:
    """A share as it is typed."""
    return f"{100.0 * share:g} %"


def target_of(share: float | None) -> tuple[str, ...]:
    """The share of capacity that a plan aims at, as it is handed on where it was named."""
    return () if share is None else ("--target", percent(share))
