"""Which sources of scatter a study can separate, from who, when and how often each machine was measured."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from feltload.coaching.errors import CoachingError
from feltload.coaching.reliability.components import added_dimensions
from feltload.coaching.reliability.facts import RepeatabilityFact
from feltload.core import Fact, Severity

MACHINE, OPERATOR, DAY, REMOUNT = "machine", "operator", "day", "remount"
FACTORS = (MACHINE, OPERATOR, DAY, REMOUNT)
JOIN = "\u241f"


@dataclass(frozen=True)
class Design:
    """The random terms of a study.

    Attributes
    ----------
    terms : mapping of str to ndarray of str, shape (n,)
        Group labels by term, in the order of the model: ``machine``, ``operator``, ``day``, interactions such as
        ``machine x operator``, ``remount``.
    residual : tuple of str
        Factors whose scatter is in the residual, since nothing was repeated within their levels.
    facts : tuple of Fact
        Factors that cannot be separated.
    """

    terms: Mapping[str, np.ndarray]
    residual: tuple[str, ...]
    facts: tuple[Fact, ...]


def study_design(labels: Mapping[str, Sequence[str]], *, nested: Mapping[str, str] | None = None) -> Design:
    """The random terms that a study's measurements can separate.

    Parameters
    ----------
    labels : mapping of str to sequence of str, each of n
        Level of every measurement, by factor (`FACTORS`); those that are left out did not vary.
    nested : mapping of str to str, optional
        Factor -> factor within which its labels count: ``{"day": "machine"}`` says that day 1 of one machine is
        another day than day 1 of the next. A remount always counts within machine, operator and day.

    Raises
    ------
    CoachingError
        A factor is nested in itself, or in one that is not there.
    """
    given = {name: np.asarray(labels[name], dtype=str) for name in FACTORS if name in labels}
    for inner, outer in (nested or {}).items():
        if inner not in given or outer not in given or inner == outer:
            raise CoachingError(
                f"{inner} cannot be nested in {outer}", remedy=f"name two of: {', '.join(given)}"
            )
        given[inner] = _joined([given[outer], given[inner]])
    # A remount is a number within a day, no thing that comes again.
    if REMOUNT in given:
        given[REMOUNT] = _joined(list(given.values()))
    candidates = _candidates({name: each for name, each in given.items() if np.unique(each).size > 1})
    count = len(next(iter(given.values())))
    terms: dict[str, np.ndarray] = {}
    residual: list[str] = []
    facts: list[Fact] = []
    for name, groups in candidates.items():
        added = added_dimensions([*terms.values(), groups])
        is_factor = name in FACTORS
        if added[-1] == 0:
            if is_factor:
                others = ", ".join(each for each in terms if each in FACTORS)
                facts.append(
                    Fact(RepeatabilityFact.ALIASED, Severity.NOTE, figures={"factor": name, "others": others})
                )
        elif 1 + sum(added) >= count:
            # Nothing was repeated within it: its scatter is the residual's.
            residual += [name] if is_factor else []
        else:
            terms[name] = groups
    return Design(terms, tuple(residual), tuple(facts))


def _candidates(given: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Main factors, then interactions, then remounts."""
    main = {name: given[name] for name in FACTORS if name in given and name != REMOUNT}
    names = list(main)
    pairs = {
        f"{first} x {second}": _joined([main[first], main[second]])
        for k, first in enumerate(names)
        for second in names[k + 1 :]
    }
    three = {" x ".join(names): _joined(list(main.values()))} if len(names) == 3 else {}
    last = {REMOUNT: given[REMOUNT]} if REMOUNT in given else {}
    return {**main, **pairs, **three, **last}


def _joined(columns: Sequence[np.ndarray]) -> np.ndarray:
    """One label a row of several."""
    return np.array([JOIN.join(row) for row in zip(*columns, strict=True)])
