"""Targets as people say them.

Clauses, joined by "," or "then", each a target of its own::

    falls 25(5) % from start to end          rises 10 ± 3 % from 20 % to middle
    falls evenly 20 to 30 %                  constant within 5 %
    250(20) N at start                       constant 250 ± 20 N from 0 cm to 40 cm
    at most 400 N                            at least 15 kgf from start to middle
    falls at least 20 %                      rises at most 10 % from start to middle

"25(5) %", "25 ± 5 %" and "20 to 30 %" are the same tolerance; a limit ("at most", "never above", "at least", "never
below") has none. A fall or rise is a part of the force at the first of its
two positions, and asks nothing between them unless it is even. "with 40 kg" at the end of a clause names its load.
"""

from __future__ import annotations

import itertools
import re
from typing import Final

import numpy as np

from feltload.calibration.errors import TargetError
from feltload.calibration.target.target import ROOM, Target, TargetAxis, TargetScale, within_limit
from feltload.core import Floats, QuantityError, parse_quantity

EXAMPLES: Final = '"falls 25(5) % from start to end", "constant within 5 %" or "250 ± 20 N at start"'
_WORDS: Final = {"start": 0.0, "middle": 0.5, "end": 1.0}
_JOINTS: Final = re.compile(r"\s*[,;]\s*(?:then\s+|and\s+)?|\s+then\s+")
_SPAN: Final = r"(?:\s+from\s+(?P<a>.+?)\s+to\s+(?P<b>.+?))?"
_LOAD: Final = r"(?:\s+with\s+(?P<load>\S.*?))?"
_CHANGE: Final = re.compile(
    rf"(?P<way>falls|rises)\s+(?:by\s+)?(?P<even>evenly\s+)?(?:by\s+)?(?P<part>.+?%){_SPAN}{_LOAD}"
)
_BOUND: Final = r"(?P<bound>at\s+most|never\s+above|at\s+least|never\s+below)\s+"
_BOUND_CHANGE: Final = re.compile(rf"(?P<way>falls|rises)\s+(?:by\s+)?{_BOUND}(?P<part>[^%]+%){_SPAN}{_LOAD}")
_LIMIT: Final = re.compile(rf"{_BOUND}(?P<force>.+?)(?:{_SPAN}|\s+at\s+(?P<place>.+?)){_LOAD}")
_CONSTANT: Final = re.compile(rf"constant\s+within\s+(?P<part>[^%]+%){_SPAN}{_LOAD}")
_LEVEL: Final = re.compile(rf"constant\s+(?P<force>.+?){_SPAN}{_LOAD}")
_FORCE: Final = re.compile(rf"(?P<force>.+?)\s+at\s+(?P<a>.+?){_LOAD}")
_RANGE: Final = re.compile(r"(?P<low>[^\s%]+)\s*%?\s+to\s+(?P<high>[^\s%]+)\s*%")


def parse_target(text: str) -> tuple[Target, ...]:
    """Read a target as it is said.

    Parameters
    ----------
    text : str
        One or more clauses.

    Returns
    -------
    tuple of Target
        One for each clause.

    Raises
    ------
    TargetError
        A clause cannot be read, has no tolerance, or mixes kinds of positions.
    """
    clauses = [clause for clause in _JOINTS.split(" ".join(text.split())) if clause]
    if not clauses:
        raise TargetError("says nothing", where=text or "target", remedy=f"write for example {EXAMPLES}")
    return tuple(_clause(clause) for clause in clauses)


def _clause(text: str) -> Target:
    if found := _BOUND_CHANGE.fullmatch(text):
        return _bound_change(text, found)
    if found := _LIMIT.fullmatch(text):
        return _limit(text, found)
    if found := _CHANGE.fullmatch(text):
        return _change(text, found)
    if found := _CONSTANT.fullmatch(text):
        within = _part(text, found["part"], tolerance=False)[0]
        axis, at = _positions(text, found["a"] or "start", found["b"] or "end")
        ones = np.ones(2)
        return Target(text, axis, at, ones, within * ones, TargetScale.FREE, load_kg=_load(text, found))
    if found := _LEVEL.fullmatch(text):
        force, half = _force(text, found["force"])
        axis, at = _positions(text, found["a"] or "start", found["b"] or "end")
        ones = np.ones(2)
        scale = TargetScale.NEWTONS
        return Target(text, axis, at, force * ones, half * ones, scale, load_kg=_load(text, found))
    if found := _FORCE.fullmatch(text):
        force, half = _force(text, found["force"])
        axis, at = _positions(text, found["a"])
        wanted, tolerance = np.array([force]), np.array([half])
        return Target(text, axis, at, wanted, tolerance, TargetScale.NEWTONS, load_kg=_load(text, found))
    raise TargetError("is not a target that can be read", where=text, remedy=f"write for example {EXAMPLES}")


def _change(text: str, found: re.Match[str]) -> Target:
    part, half = _part(text, found["part"])
    axis, at = _positions(text, found["a"] or "start", found["b"] or "end")
    end = 1.0 + (part if found["way"] == "rises" else -part)
    return Target(
        text,
        axis,
        at,
        np.array([1.0, end]),
        np.array([half, half]),
        TargetScale.FIRST,
        between=found["even"] is not None,
        load_kg=_load(text, found),
    )


def _bound_change(text: str, found: re.Match[str]) -> Target:
    """A fall or rise by so much at least or at most: one limit on the force at the second position."""
    part, half = _part(text, found["part"], tolerance=False)
    if half:
        raise TargetError("has a tolerance, and is a limit", where=text, remedy='write "falls at least 20 %"')
    falls, most = found["way"] == "falls", _is_upper(found["bound"])
    limit = 1.0 - part if falls else 1.0 + part
    if limit <= 0.0:
        raise TargetError(
            "falls to zero or below",
            where=text,
            remedy="give less than 100 %, and a limit in newtons beside it",
        )
    upper = falls is not most
    room = min(ROOM, 0.5 * limit) if upper else ROOM
    axis, at = _positions(text, found["a"] or "start", found["b"] or "end")
    return Target(
        text,
        axis,
        at,
        np.array([1.0, limit - room if upper else limit + room]),
        np.array([room, room]),
        TargetScale.FIRST,
        between=False,
        load_kg=_load(text, found),
        lower=np.array([True, not upper]),
        upper=np.array([True, upper]),
    )


def _limit(text: str, found: re.Match[str]) -> Target:
    """A force that is not to be left to one side."""
    remedy = 'write "at most 400 N" or "at least 15 kgf from start to middle"'
    try:
        quantity = parse_quantity(found["force"], "force")
    except QuantityError as error:
        raise TargetError(error.what, where=text, remedy=remedy) from None
    if quantity.u:
        raise TargetError(f'"{found["force"]}" has a tolerance, and is a limit', where=text, remedy=remedy)
    upper = _is_upper(found["bound"])
    if upper and quantity.value <= 0.0:
        raise TargetError("lets no force through", where=text, remedy=remedy)
    places = [found["place"]] if found["place"] else [found["a"] or "start", found["b"] or "end"]
    axis, at = _positions(text, *places)
    wanted, room = within_limit(np.full(at.size, quantity.value), upper=upper)
    side = np.full(at.size, upper)
    scale = TargetScale.NEWTONS
    return Target(text, axis, at, wanted, room, scale, load_kg=_load(text, found), lower=~side, upper=side)


def _is_upper(bound: str) -> bool:
    return bound.endswith(("most", "above"))


def _part(text: str, written: str, *, tolerance: bool = True) -> tuple[float, float]:
    """A part and the half-width of what is allowed around it: "25(5) %", "25 ± 5 %", "20 to 30 %"."""
    if found := _RANGE.fullmatch(written.strip()):
        low, high = (_number(text, found[end]) for end in ("low", "high"))
        if not low < high:
            raise TargetError(f'"{written}" does not rise', where=text, remedy="write the lower end first")
        return 0.005 * (low + high), 0.005 * (high - low)
    try:
        quantity = parse_quantity(written, "dimensionless")
    except QuantityError as error:
        raise TargetError(error.what, where=text, remedy='write "25 ± 5 %" or "20 to 30 %"') from None
    if tolerance and not quantity.u:
        raise TargetError(
            f'"{written}" has no tolerance, so nothing could meet it',
            where=text,
            remedy='write "25 ± 5 %" or "20 to 30 %"',
        )
    if not quantity.value > 0.0:
        raise TargetError(f'"{written}" is not above zero', where=text, remedy="say falls or rises instead")
    return quantity.value, quantity.u or 0.0


def _number(text: str, written: str) -> float:
    try:
        return float(written)
    except ValueError:
        raise TargetError(
            f'"{written}" is not a number of percent', where=text, remedy='write "20 to 30 %"'
        ) from None


def _force(text: str, written: str) -> tuple[float, float]:
    remedy = 'write "250 ± 20 N", "250(20) N" or "25 ± 2 kgf"'
    try:
        quantity = parse_quantity(written, "force")
    except QuantityError as error:
        raise TargetError(error.what, where=text, remedy=remedy) from None
    if not quantity.u:
        raise TargetError(
            f'"{written}" has no tolerance, so nothing could meet it', where=text, remedy=remedy
        )
    return quantity.value, quantity.u


def _load(text: str, found: re.Match[str]) -> float | None:
    if found["load"] is None:
        return None
    try:
        return parse_quantity(found["load"], "mass").value
    except QuantityError as error:
        raise TargetError(error.what, where=text, remedy='write the load as "with 40 kg"') from None


def _positions(text: str, *written: str) -> tuple[TargetAxis, Floats]:
    read = [_position(text, each.strip()) for each in written]
    axes = {axis for axis, _ in read}
    if len(axes) > 1:
        raise TargetError(
            "mixes parts of the travel, ways of the handle or angles", where=text, remedy="use one of them"
        )
    values = [value for _, value in read]
    if any(after <= before for before, after in itertools.pairwise(values)):
        raise TargetError("its positions do not rise", where=text, remedy="name the earlier position first")
    return axes.pop(), np.array(values)


def _position(text: str, written: str) -> tuple[TargetAxis, float]:
    if written in _WORDS:
        return TargetAxis.TRAVEL, _WORDS[written]
    if written.endswith("%"):
        share = 0.01 * _number(text, written.removesuffix("%").strip())
        if not 0.0 <= share <= 1.0:
            raise TargetError(
                f'"{written}" lies outside the travel', where=text, remedy="use parts from 0 to 100 %"
            )
        return TargetAxis.TRAVEL, share
    try:
        return TargetAxis.HANDLE, parse_quantity(written, "length").value
    except QuantityError:
        pass
    try:
        return TargetAxis.ANGLE, parse_quantity(written, "angle").value
    except QuantityError:
        raise TargetError(
            f'"{written}" is not a position', where=text, remedy='write "start", "40 %", "31 cm" or "20 deg"'
        ) from None
