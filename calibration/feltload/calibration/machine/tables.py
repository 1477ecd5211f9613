"""Tables of a machine file: which there are, checked key by key, and the machine that they make."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeVar

from pydantic import ValidationError

from feltload.calibration.errors import MachineError
from feltload.calibration.machine.hints import nearest, one_of
from feltload.calibration.machine.machine import Machine
from feltload.calibration.machine.mechanism import Mechanism, Rider
from feltload.calibration.machine.mechanisms import MECHANISMS
from feltload.calibration.machine.mechanisms.add_ons import ADD_ONS
from feltload.calibration.machine.mechanisms.section import MechanismSection
from feltload.calibration.machine.parameters import MaybeAngle, Section, parameters_of
from feltload.core import Quantity

Table = TypeVar("Table", bound=Section)


class Header(Section):
    """Keys that every machine file has; a handle that moves in a line needs no start angle."""

    name: str
    mechanism: str
    start_angle: MaybeAngle = None


def machine_of(data: dict[str, Any], where: str) -> Machine:
    """The machine of a parsed file; `where` names it in errors.

    Raises
    ------
    MachineError
        A key, unit or value in it cannot be used; the message names it.
    """
    tables = {key: data.pop(key) for key in list(data) if key in MECHANISMS or key in ADD_ONS}
    header = _validate(Header, data, "", where, extra_keys=[*MECHANISMS, *ADD_ONS])
    if header.mechanism not in MECHANISMS:
        raise MachineError(
            f'"{header.mechanism}" is not a mechanism',
            where=f"{where}: mechanism",
            remedy=one_of(MECHANISMS),
        )
    table = MECHANISMS[header.mechanism]
    for other in MECHANISMS:
        if other in tables and other != table.kind:
            raise MachineError(
                f"table [{other}] in the file of a {table.kind}",
                where=where,
                remedy=f'remove it, or write mechanism = "{other}"',
            )
    if table.kind not in tables:
        raise MachineError(
            f"table [{table.kind}] is missing",
            where=where,
            remedy=f"add [{table.kind}] with the machine's dimensions",
        )
    start_angle = header.start_angle or _counted_from_the_stop(table, where)
    header = header.model_copy(update={"start_angle": start_angle})
    section = _validate(table, tables[table.kind], table.kind, where)
    try:
        mechanism = section.mechanism()
    except MachineError as error:
        raise MachineError(error.what, where=f"{where}: {error.where}", remedy=error.remedy) from error
    riders: list[Rider] = list(section.mass)
    for key, add_on in ADD_ONS.items():
        rows = tables.get(key, [])
        if not isinstance(rows, list):
            raise MachineError(f"[{key}] must be a list", where=where, remedy=f"write [[{key}]]")
        riders += [_validate(add_on, row, f"{key}[{i}]", where) for i, row in enumerate(rows, start=1)]
    _check_riders(riders, mechanism, where)
    parameters = [
        *parameters_of(header),
        *parameters_of(section),
        *mechanism.extra_parameters(),
        *(p for rider in riders for p in rider.parameters()),
    ]
    return Machine(header.name, start_angle, mechanism, tuple(riders), tuple(parameters))


def _counted_from_the_stop(table: type[MechanismSection], where: str) -> Quantity:
    """Start angle of a machine file without one: nothing, where the handle does not turn."""
    if table.handle_turns:
        raise MachineError("missing", where=f"{where}: start_angle", remedy="add start_angle = ...")
    return Quantity(0.0, 0.0, "0 deg", "deg")


def _check_riders(riders: list[Rider], mechanism: Mechanism, where: str) -> None:
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
            raise MachineError(f'on = "{link}" is not a link', where=spot, remedy=one_of(mechanism.links))
        given = {p.key.dimension for p in rider.parameters()}
        if link not in mechanism.sliding and (missing := [k for k in ("radius", "angle") if k not in given]):
            raise MachineError(
                f"{' and '.join(missing)} missing",
                where=spot,
                remedy=f'"{link}" turns: give radius = "270(3) mm" and angle = "13(0.8) deg" on the start stop',
            )


def _validate(
    model: type[Table], data: object, table: str, where: str, *, extra_keys: Sequence[str] = ()
) -> Table:
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
            known = [*owner.model_fields, *extra_keys]
            raise MachineError(f'unknown key "{key}"', where=spot, remedy=nearest(key, known)) from error
        if first["type"] == "missing":
            raise MachineError("missing", where=spot, remedy=f"add {key} = ...") from error
        remedy = first.get("ctx", {}).get("remedy") or None
        raise MachineError(first["msg"], where=spot, remedy=remedy) from error


def _row_type(model: type[Section], key: str) -> type[Section] | None:
    """Type of a table within a table, or of the rows of a list; None for anything else."""
    annotation = model.model_fields[key].annotation
    found = (annotation, *getattr(annotation, "__args__", ()))
    return next((a for a in found if isinstance(a, type) and issubclass(a, Section)), None)
