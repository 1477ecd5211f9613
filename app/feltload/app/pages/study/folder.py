"""The folder that a study is written into."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from feltload.acquisition import write_table
from feltload.app.files.outputs import claim_directory
from feltload.app.files.provenance import software_version
from feltload.app.jobs.study.study import Study
from feltload.app.jobs.study.tables import COLUMNS, study_tables
from feltload.app.pages.canvas import Drawing
from feltload.app.pages.page import page_templates
from feltload.app.pages.study.figures import StudyFigure, study_figures
from feltload.app.pages.study.markup import latex_table, latex_text, markdown
from feltload.app.text.facts import describe_fully
from feltload.app.text.study.methods import methods_paragraph, results_sentences
from feltload.app.text.study.references import references
from feltload.app.text.study.table import ResultsTable, results_table
from feltload.core import Severity, write_file

PAGE, TEXT, RECORD = "study.html", "study.md", "study.json"
LATEX_TEXT, LATEX_TABLE = "text.tex", "table.tex"
FIGURES = "figures"
TableForm = Literal["csv", "parquet"]


@dataclass(frozen=True)
class StudyView:
    """What the page says, top to bottom."""

    title: str
    invented: bool
    doubts: tuple[str, ...]
    sentences: tuple[str, ...]
    table: ResultsTable
    figures: tuple[Drawing, ...]
    missing: tuple[str, ...]
    methods: str
    references: tuple[str, ...]


def claim_study(out: Path, form: TableForm, *, overwrite: bool) -> None:
    """Make sure that a study may be written to `out`.

    Raises
    ------
    OutputExistsError, UsageError
        As `claim_directory`.
    """
    claim_directory(
        out, [PAGE, TEXT, LATEX_TEXT, LATEX_TABLE, RECORD, *table_names(form)], overwrite=overwrite
    )


def table_names(form: TableForm) -> list[str]:
    """Files of the tidy tables."""
    return [f"{name}.{form}" for name in COLUMNS]


def write_study(out: Path, study: Study, *, form: TableForm, column: str) -> StudyView:
    """Write tables, figures, text and page; whether they may be overwritten has been settled before."""
    figures = study_figures(study)
    view = study_view(study, figures)
    for name, frame in study_tables(study).items():
        write_table(frame, out / f"{name}.{form}", format=form)
    (out / FIGURES).mkdir(exist_ok=True)
    for figure in figures:
        for kind in ("pdf", "svg"):
            write_file(out / FIGURES / f"{figure.name}.{kind}", figure.file(kind, column))
    write_file(
        out / TEXT,
        markdown(view.methods, view.doubts + view.sentences, view.table, view.missing, view.references),
    )
    write_file(out / LATEX_TEXT, latex_text(view.methods, view.doubts + view.sentences, view.references))
    write_file(out / LATEX_TABLE, latex_table(view.table))
    write_file(out / RECORD, json.dumps(study_record(study), indent=1, allow_nan=False) + "\n")
    write_file(out / PAGE, page_templates().get_template("study.html").render(view=view))
    return view


def study_view(study: Study, figures: list[StudyFigure]) -> StudyView:
    """Put a study into words and figures."""
    sentences, methods = results_sentences(study), methods_paragraph(study)
    return StudyView(
        title=study.plan.name,
        invented=any(source.invented for source in study.data.sources),
        sentences=tuple(sentences),
        table=results_table(study),
        figures=tuple(figure.drawing() for figure in figures),
        doubts=tuple(describe_fully(fact) for fact in study.facts if fact.severity is Severity.SERIOUS),
        missing=tuple(describe_fully(fact) for fact in study.facts if fact.severity is not Severity.SERIOUS),
        methods=methods,
        references=references([methods, *sentences]),
    )


def study_record(study: Study) -> dict[str, Any]:
    """The study for programs: statistics, what cannot be had, and what it was made from."""
    tables = study_tables(study)
    kept = ("statistics", "components", "agreement")
    next_study = study.next_study
    record = {
        "name": study.plan.name,
        "feltload": software_version(),
        "measurements": [
            {
                "measurement": source.measurement,
                "path": source.path,
                "recordings_sha256": list(source.recordings_sha256),
                "estimated_with": source.version,
                "invented": source.invented,
            }
            for source in study.data.sources
        ],
        **{name: tables[name].to_dict(orient="records") for name in kept},
        "next_study": {
            "measurements_to_average": [
                {"load_kg": load, "measurements": count} for load, count in next_study.to_average.items()
            ],
            "machines": next_study.machines,
            "measurements_each": next_study.measurements,
        },
        "facts": [fact.to_dict() for fact in study.facts],
    }
    plain: dict[str, Any] = _plain(record)
    return plain


def _plain(value: Any) -> Any:
    """JSON has no NaN and no infinity: an unknown value becomes null."""
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_plain(each) for each in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
