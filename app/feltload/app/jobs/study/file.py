"""The study file: which measurements, and who, when, where and how often they were made."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, ValidationError

from feltload.app.errors import UsageError
from feltload.app.files.inputs import read_load
from feltload.app.jobs.study.naming import labels_by_name, labels_said, name_pattern
from feltload.coaching import FACTORS
from feltload.core import parse_quantity, parse_toml, read_text

Factor = Literal["operator", "day", "remount"]
COLUMNS = ("file", *FACTORS, "load")
Checked = TypeVar("Checked", bound=BaseModel)


def _label(value: object) -> object:
    """A level of a factor: 1 and "1" are the same one."""
    return str(value) if isinstance(value, int | float) and not isinstance(value, bool) else value


Label = Annotated[str, BeforeValidator(_label), Field(min_length=1)]


class _Measurement(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    file: Annotated[str, Field(min_length=1)]
    machine: Label | None = None
    operator: Label | None = None
    day: Label | None = None
    remount: Label | None = None
    load: str | None = None


class _Wanted(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    minimal_difference: str | None = None
    correlation: Annotated[float, Field(gt=0.0, lt=1.0)] | None = None
    width: Annotated[float, Field(gt=0.0, lt=1.0)] | None = None


class _StudyFile(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Annotated[str, Field(min_length=1)]
    files: str | None = None
    names: str | None = None
    table: str | None = None
    dataset: str | None = None
    measurements: tuple[_Measurement, ...] = ()
    leave_out: tuple[str, ...] = ()
    load: str | None = None
    compare: Factor | None = None
    nested: Mapping[Literal["operator", "day"], Literal["machine", "operator", "day"]] = Field(
        default_factory=dict
    )
    wanted: _Wanted = Field(default_factory=_Wanted)


@dataclass(frozen=True)
class Entry:
    """One measurement that a study names.

    Attributes
    ----------
    path : Path
        A recording, or the directory of a result.
    labels : mapping of str to str
        What was noted of machine, operator, day and remount.
    load_kg : float, optional
        The one load of it that counts.
    """

    path: Path
    labels: Mapping[str, str]
    load_kg: float | None = None


@dataclass(frozen=True)
class StudyPlan:
    """What a study file asks for.

    Attributes
    ----------
    name : str
    entries : tuple of Entry
        Measurements one by one; none for a dataset.
    dataset : Path, optional
        Folder of a dataset of many.
    named : callable
        Gives the labels that the name of a measurement in the dataset says.
    leave_out : tuple of str
        Measurements that are named and do not count.
    load_kg : float, optional
        The one load of the dataset that counts.
    compare : str, optional
        Factor whose levels are compared.
    nested : mapping of str to str
        Factor -> factor within which its labels count.
    wanted_difference_n : float, optional
    wanted_correlation, wanted_width : float, optional
        Correlation that is expected of a next study, and how wide its interval may be.
    """

    name: str
    entries: tuple[Entry, ...]
    dataset: Path | None = None
    named: Callable[[str], Mapping[str, str]] = lambda name: {}
    leave_out: tuple[str, ...] = ()
    load_kg: float | None = None
    compare: str | None = None
    nested: Mapping[str, str] | None = None
    wanted_difference_n: float | None = None
    wanted_correlation: float | None = None
    wanted_width: float | None = None


def read_study(path: Path) -> StudyPlan:
    """Read a study file.

    Raises
    ------
    UsageError
        Names the file, the key and the remedy.
    """
    where = str(path)
    text = read_text(
        path, UsageError, missing="no such study file", remedy="name a study file (docs/study.md)"
    )
    tables = parse_toml(text, UsageError, where=where, remedy="write keys and values as in docs/study.md")
    given = _checked(_StudyFile, tables, where)
    ways = [key for key in ("files", "table", "dataset", "measurements") if getattr(given, key)]
    if len(ways) != 1:
        raise UsageError(
            f"names its measurements by {' and '.join(ways)}" if ways else "names no measurements",
            where=where,
            remedy="use one of: files (a pattern of names), table (a CSV file), dataset, [[measurements]]",
        )
    if given.names is not None and given.files is None and given.dataset is None:
        raise UsageError(
            "names says nothing without files", where=where, remedy='give files = "results/*" too'
        )
    load_kg = None if given.load is None else read_load(given.load, f"{where}: load").value
    rows = () if given.dataset is not None else _rows(given, path)
    entries = tuple(_entry(row, path.parent, f"{where}: {row.file}", load_kg) for row in rows)
    wanted = given.wanted
    if (wanted.correlation is None) != (wanted.width is None):
        raise UsageError(
            "wanted needs correlation and width together",
            where=where,
            remedy="such as correlation = 0.9, width = 0.2",
        )
    difference = wanted.minimal_difference
    difference_n = (
        None if difference is None else parse_quantity(difference, "force", where=f"{where}: wanted").value
    )
    if difference_n is not None and difference_n <= 0.0:
        raise UsageError(f'"{difference}" is no difference', where=where, remedy="give a force above 0 N")
    return StudyPlan(
        name=given.name,
        entries=entries,
        dataset=None if given.dataset is None else path.parent / given.dataset,
        named=labels_by_name(given.names, where),
        leave_out=given.leave_out,
        load_kg=load_kg,
        compare=given.compare,
        nested={str(inner): str(outer) for inner, outer in given.nested.items()},
        wanted_difference_n=difference_n,
        wanted_correlation=wanted.correlation,
        wanted_width=wanted.width,
    )


def _rows(given: _StudyFile, path: Path) -> tuple[_Measurement, ...]:
    if given.table is not None:
        return _table_rows(path.parent / given.table)
    if given.files is not None:
        return _pattern_rows(given.files, given.names, path)
    return given.measurements


def _table_rows(path: Path) -> tuple[_Measurement, ...]:
    """One row a measurement: a column `file`, and those of the factors that were noted."""
    import csv
    import io

    text = read_text(path, UsageError, missing="no such table", remedy="name a CSV file")
    reader = csv.DictReader(io.StringIO(text))
    columns = [name.strip() for name in reader.fieldnames or ()]
    unknown = [name for name in columns if name not in COLUMNS]
    if "file" not in columns or unknown:
        raise UsageError(
            f'has a column "{unknown[0]}"' if unknown else "has no column file",
            where=str(path),
            remedy=f"head its columns with: {', '.join(COLUMNS)}",
        )
    rows = []
    for number, row in enumerate(reader, start=2):
        if None in row:
            raise UsageError(
                "has more cells than columns",
                where=f"{path}, line {number}",
                remedy="put a cell with commas in quotes",
            )
        cells = {name.strip(): (cell or "").strip() for name, cell in row.items()}
        rows.append(
            _checked(
                _Measurement, {name: cell for name, cell in cells.items() if cell}, f"{path}, line {number}"
            )
        )
    if not rows:
        raise UsageError("has no rows", where=str(path), remedy="write one row a measurement")
    return tuple(rows)


def _pattern_rows(files: str, names: str | None, path: Path) -> tuple[_Measurement, ...]:
    """Files of a pattern, and what their names say."""
    where = str(path)
    try:
        found = sorted(path.parent.glob(files))
    except (NotImplementedError, ValueError) as error:
        raise UsageError(
            f'files = "{files}" is no pattern ({error})', where=where, remedy="write it from here"
        ) from error
    found = [each for each in found if each.is_dir() or each.suffix == ".mcap"]
    if not found:
        raise UsageError(
            f'files = "{files}" finds nothing', where=where, remedy="write it from the study file's folder"
        )
    pattern = None if names is None else name_pattern(names, where)
    rows = []
    for each in found:
        labels = {} if pattern is None else labels_said(pattern, each)
        if labels is None:
            raise UsageError(
                f'"{each.name}" is not named as "{names}"',
                where=where,
                remedy="name it so, or use a table of files",
            )
        rows.append(_checked(_Measurement, {"file": str(each.relative_to(path.parent)), **labels}, where))
    return tuple(rows)


def _entry(row: _Measurement, folder: Path, where: str, load_kg: float | None) -> Entry:
    labels = {name: value for name in FACTORS if (value := getattr(row, name)) is not None}
    own = load_kg if row.load is None else read_load(row.load, where).value
    return Entry(folder / row.file, labels, own)


def _checked(model: type[Checked], tables: Mapping[str, Any], where: str) -> Checked:
    try:
        return model.model_validate(tables)
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(map(str, first["loc"])) or "the file"
        if first["type"] == "extra_forbidden":
            raise UsageError(
                f"{key} is no key of a study",
                where=where,
                remedy=f"known are: {', '.join(model.model_fields)}",
            ) from error
        raise UsageError(f"{key}: {first['msg'].lower()}", where=where, remedy="see docs/study.md") from error
