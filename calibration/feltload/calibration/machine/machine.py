"""Machine files: a surveyed machine as a person writes it down, and its model."""

from __future__ import annotations

import dataclasses
import difflib
import functools
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

import numpy as np
from pydantic import ValidationError

from feltload.calibration.errors import MachineError
from feltload.calibration.machine.mechanism import Mechanism, Rider
from feltload.calibration.machine.mechanisms import MECHANISMS
from feltload.calibration.machine.mechanisms.add_ons import ADD_ONS
from feltload.calibration.machine.parameters import Angle, Parameter, Section, parameters_of
from feltload.calibration.machine.virtual_work import WorkTerms, work_terms
from feltload.core import STANDARD_GRAVITY_M_S2, Floats, Quantity


class _Header(Section):
    """Keys that every machine file has."""

    name: str
    mechanism: str
    start_angle: Angle


@dataclass(frozen=True)
class Machine:
    """A surveyed machine.

    Attributes
    ----------
    name : str
        What its owner calls it.
    start_angle : Quantity
        Elevation of the handle line on the start stop.
    mechanism : Mechanism
        Its kinematics.
    riders : tuple of Rider
        Masses, then add-ons.
    parameters : tuple of Parameter
        Every surveyed dimension, start angle first; SI values with standard uncertainties.
    """

    name: str
    start_angle: Quantity
    mechanism: Mechanism
    riders: tuple[Rider, ...]
    parameters: tuple[Parameter, ...]

    @functools.cached_property
    def values(self) -> dict[str, float]:
        """Dimensions by name, SI."""
        return {p.name: p.value for p in self.parameters}

    def parameter(self, name: str) -> Parameter:
        """One dimension.

        Raises
        ------
        MachineError
            There is none of that name.
        """
        for parameter in self.parameters:
            if parameter.name == name:
                return parameter
        raise MachineError(
            f'no dimension "{name}"',
            where=self.name,
            remedy=_nearest(name, [p.name for p in self.parameters]),
        )

    def with_parameters(self, values: Mapping[str, float]) -> Machine:
        """The same machine with some dimensions (SI) changed; uncertainties stay."""
        for name in values:
            self.parameter(name)
        changed = tuple(dataclasses.replace(p, value=values.get(p.name, p.value)) for p in self.parameters)
        start = dataclasses.replace(self.start_angle, value=values.get("start_angle", self.start_angle.value))
        return dataclasses.replace(self, parameters=changed, start_angle=start)

    def terms(self, q_rad: Floats, load_kg: float, g_m_s2: float = STANDARD_GRAVITY_M_S2) -> WorkTerms:
        """Energy, inertia and handle travel at rotations `q_rad` (n,) from the start stop."""
        q = np.atleast_1d(np.asarray(q_rad, dtype=float))
        return work_terms(self.mechanism, self.riders, self.values, q, load_kg, g_m_s2)

    def static_force_n(self, q_rad: Floats, load_kg: float, g_m_s2: float = STANDARD_GRAVITY_M_S2) -> Floats:
        """Handle force at rest without friction, dU/dq / R, shape (n,)."""
        terms = self.terms(q_rad, load_kg, g_m_s2)
        return terms.gradient / terms.handle.travel

    def slow_force_n(
        self, q_rad: Floats, load_kg: float, direction: int, g_m_s2: float = STANDARD_GRAVITY_M_S2
    ) -> Floats:
        """Handle force of slow raising (+1) or lowering (-1), with the losses that the machine file states."""
        terms = self.terms(q_rad, load_kg, g_m_s2)
        work = self.mechanism.slow_work(direction, terms.by_link, self.values, g_m_s2)
        return work / terms.handle.travel

    def midway_force_n(
        self,
        q_rad: Floats,
        load_kg: float,
        g_m_s2: float = STANDARD_GRAVITY_M_S2,
        *,
        changed: Mapping[str, float] | None = None,
    ) -> Floats:
        """Midway between slow raising and lowering: what a measured static profile is.

        `changed` dimensions (SI) stand in for the surveyed ones without making a new machine.
        """
        q = np.atleast_1d(np.asarray(q_rad, dtype=float))
        values = {**self.values, **changed} if changed else self.values
        terms = work_terms(self.mechanism, self.riders, values, q, load_kg, g_m_s2)
        both = [self.mechanism.slow_work(d, terms.by_link, values, g_m_s2) for d in (1, -1)]
        return 0.5 * (both[0] + both[1]) / terms.handle.travel

    def force_n(
        self,
        q_rad: Floats,
        rate_rad_s: Floats,
        accel_rad_s2: Floats,
        load_kg: float,
        g_m_s2: float = STANDARD_GRAVITY_M_S2,
    ) -> Floats:
        """Handle force in motion without friction, shape (n,)."""
        terms = self.terms(q_rad, load_kg, g_m_s2)
        moment = terms.gradient + terms.inertia * accel_rad_s2 + 0.5 * terms.inertia_1 * np.square(rate_rad_s)
        return np.asarray(moment / terms.handle.travel)

    def felt_inertia_n_per_rad_s2(self, q_rad: Floats, load_kg: float) -> Floats:
        """Handle force per angular acceleration, I / R, shape (n,)."""
        terms = self.terms(q_rad, load_kg)
        return terms.inertia / terms.handle.travel


def load_machine(path: Path | str) -> Machine:
    """Read a machine file.

    Raises
    ------
    MachineError
        It is missing, not TOML, or a key, unit or value in it cannot be used; the message names it.
    """
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError as error:
        raise MachineError("no such machine file", where=str(path), remedy="check the path") from error
    except (OSError, UnicodeDecodeError) as error:
        raise MachineError(
            "the machine file cannot be read", where=str(path), remedy="it must be a readable UTF-8 text file"
        ) from error
    return parse_machine(text, str(path))


def parse_machine(text: str, where: str = "machine file") -> Machine:
    """Read a machine from the text of its file; `where` names it in errors."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise MachineError(
            f"not TOML: {error}", where=where, remedy='quantities are strings: radius = "270(3) mm"'
        ) from error
    tables = {key: data.pop(key) for key in list(data) if key in MECHANISMS or key in ADD_ONS}
    header = cast(_Header, _validate(_Header, data, "", where, extra_keys=[*MECHANISMS, *ADD_ONS]))
    if header.mechanism not in MECHANISMS:
        raise MachineError(
            f'"{header.mechanism}" is not a mechanism',
            where=f"{where}: mechanism",
            remedy=_one_of(MECHANISMS),
        )
    kind = MECHANISMS[header.mechanism]
    for other in MECHANISMS:
        if other in tables and other != kind.kind:
            raise MachineError(
                f"table [{other}] in the file of a {kind.kind}",
                where=where,
                remedy=f'remove it, or write mechanism = "{other}"',
            )
    if kind.kind not in tables:
        raise MachineError(
            f"table [{kind.kind}] is missing",
            where=where,
            remedy=f"add [{kind.kind}] with the machine's dimensions",
        )
    section = _validate(kind.section, tables[kind.kind], kind.kind, where)
    try:
        mechanism: Mechanism = kind(section)
    except MachineError as error:
        raise MachineError(error.what, where=f"{where}: {error.where}", remedy=error.remedy) from error
    riders: list[Rider] = list(cast(Any, section).mass)
    for key, add_on in ADD_ONS.items():
        rows = tables.get(key, [])
        if not isinstance(rows, list):
            raise MachineError(f"[{key}] must be a list", where=where, remedy=f"write [[{key}]]")
        riders += [
            cast(Rider, _validate(add_on, row, f"{key}[{i}]", where)) for i, row in enumerate(rows, start=1)
        ]
    _check_riders(riders, mechanism, where)
    parameters = [
        *parameters_of(header),
        *parameters_of(section),
        *mechanism.extra_parameters(),
        *(p for rider in riders for p in rider.parameters()),
    ]
    return Machine(header.name, header.start_angle, mechanism, tuple(riders), tuple(parameters))


def _check_riders(riders: list[Rider], mechanism: Mechanism, where: str) -> None:
    if not riders:
        raise MachineError(
            "the machine has no mass",
            where=where,
            remedy=f"add [[{mechanism.kind}.mass]] with its mass and place",
        )
    seen: set[str] = set()
    for rider in riders:
        spot = f'{where}: "{rider.name}"'
        if rider.name in seen:
            raise MachineError("the name is given twice", where=spot, remedy="give every part its own name")
        if not rider.name.strip() or "." in rider.name:
            raise MachineError("a part's name must not be empty or hold a point", where=spot)
        seen.add(rider.name)
        link = rider.on or mechanism.links[0]
        if link not in mechanism.links:
            raise MachineError(f'on = "{link}" is not a link', where=spot, remedy=_one_of(mechanism.links))
        given = {p.name.rpartition(".")[2] for p in rider.parameters()}
        if link not in mechanism.sliding and (missing := [k for k in ("radius", "angle") if k not in given]):
            raise MachineError(
                f"{' and '.join(missing)} missing",
                where=spot,
                remedy=f'"{link}" turns: give radius = "270(3) mm" and angle = "13(0.8) deg" on the start stop',
            )


def _validate(
    model: type[Section], data: Any, table: str, where: str, *, extra_keys: list[str] | None = None
) -> Section:
    """Validate one table; the first thing wrong becomes one MachineError that names file and key."""
    if not isinstance(data, dict):
        raise MachineError(f"[{table}] must be a table", where=where, remedy=f"write [{table}] on a line")
    try:
        return model.model_validate(data)
    except ValidationError as error:
        # A misspelt key is also a missing one: the misspelling is what helps.
        first = min(error.errors(), key=lambda e: e["type"] != "extra_forbidden")
        owner: type[Section] = model
        names = [table] if table else []
        for part in first["loc"][:-1]:
            if isinstance(part, int) and names:
                names[-1] += f"[{part + 1}]"
            elif isinstance(part, str) and part in owner.model_fields:
                names.append(part)
                owner = _row_type(owner, part) or owner
        last = first["loc"][-1] if first["loc"] else ""
        key = f"[{last + 1}]" if isinstance(last, int) else str(last)
        spot = f"{where}: " + ".".join([*names, key] if key else names)
        if first["type"] == "extra_forbidden":
            known = [*owner.model_fields, *(extra_keys or [])]
            raise MachineError(f'unknown key "{key}"', where=spot, remedy=_nearest(key, known)) from error
        if first["type"] == "missing":
            raise MachineError("missing", where=spot, remedy=f"add {key} = ...") from error
        remedy = first.get("ctx", {}).get("remedy") or None
        raise MachineError(first["msg"], where=spot, remedy=remedy) from error


def _row_type(model: type[Section], key: str) -> type[Section] | None:
    """Type of the rows of a list field, None for anything else."""
    arguments = getattr(model.model_fields[key].annotation, "__args__", ())
    return next((a for a in arguments if isinstance(a, type) and issubclass(a, Section)), None)


def _nearest(key: str, known: list[str]) -> str:
    close = difflib.get_close_matches(key, known, n=1, cutoff=0.5)
    return f'did you mean "{close[0]}"?' if close else _one_of(known)


def _one_of(names: Any) -> str:
    return "known are " + ", ".join(f'"{name}"' for name in names)
