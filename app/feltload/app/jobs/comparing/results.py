"""Results to compare, read from their directories: both arms of one that was measured on both sides."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from feltload.app.errors import UsageError
from feltload.app.files.provenance import Provenance, load_provenance
from feltload.app.jobs.comparing.names import folder_names, result_names
from feltload.app.jobs.mechanism_limits import load_possible
from feltload.coaching import SAME_LOAD_KG
from feltload.signal import MODEL, ProfileEstimate

MOST = 30
"""More results in one comparison cannot be distinguished."""

SIDES = ("left", "right")


@dataclass(frozen=True)
class Result:
    """One result of `feltload profile`, by the name that it is called here."""

    name: str
    estimate: ProfileEstimate
    provenance: Provenance

    @property
    def side(self) -> str | None:
        """Which arm of its machine it is of, where both were measured at once."""
        options = self.provenance.options
        return options.side if options is not None and options.both_sides else None

    @property
    def heaviest(self) -> int:
        """Index of its heaviest load."""
        return int(np.argmax(self.estimate.loads_kg))

    def load_index(self, load_kg: float) -> int | None:
        """Index of a load; None where it was not measured."""
        index = np.flatnonzero(np.abs(self.estimate.loads_kg - load_kg) < SAME_LOAD_KG)
        return int(index[0]) if index.size else None


def read_results(directories: Sequence[Path]) -> tuple[Result, ...]:
    """Results by the names that they have beside one another, an arm each of a directory with both arms.

    Raises
    ------
    UsageError
        For fewer than two or too many, or one that is named twice.
    """
    each = [arm for path in directories for arm in both_arms(path)]
    if not 2 <= len(each) <= MOST:
        raise UsageError(
            f"names {len(each)}, and two to {MOST} results can be compared",
            where="compare",
            remedy="name the directories that `feltload profile` wrote",
        )
    folders = folder_names(each)
    read = [(load_possible(path), load_provenance(path)) for path in each]
    names = result_names([estimate for estimate, _ in read], folders)
    return tuple(Result(name, *one) for name, one in zip(names, read, strict=True))


def both_arms(directory: Path) -> tuple[Path, ...]:
    """Results of the left and the right arm in a directory that holds both; otherwise the directory itself."""
    arms = tuple(directory / side for side in SIDES)
    both = not (directory / MODEL).exists() and all((arm / MODEL).exists() for arm in arms)
    return arms if both else (directory,)
