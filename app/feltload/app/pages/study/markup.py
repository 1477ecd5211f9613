"""The results table and the methods paragraph as Markdown and LaTeX."""

from __future__ import annotations

import re
from collections.abc import Sequence

from feltload.app.text.study.table import ResultsTable

LATEX = {
    "\\": r"\textbackslash{}",
    "&": r"\&",
    "%": r"\%",
    "$": r"\$",
    "#": r"\#",
    "_": r"\_",
    "{": r"\{",
    "}": r"\}",
    "~": r"\textasciitilde{}",
    "^": r"\textasciicircum{}",
    "−": r"\(-\)",
    "±": r"\(\pm\)",
    "×": r"\(\times\)",
    "√": r"\(\surd\)",
    "–": "--",
}


def markdown(methods: str, sentences: Sequence[str], table: ResultsTable, missing: Sequence[str]) -> str:
    """The whole text: methods, results, table, what cannot be had."""
    parts = ["## Methods", methods, "## Results", *sentences, markdown_table(table)]
    if missing:
        parts += ["## What these data do not give", "\n".join(f"- {line}" for line in missing)]
    return "\n\n".join(parts) + "\n"


def markdown_table(table: ResultsTable) -> str:
    """A table with pipes, its caption above and its note below."""

    def line(cells: Sequence[str]) -> str:
        return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |"

    rows = [line(table.head), line(["---"] * len(table.head)), *map(line, table.rows)]
    return "\n".join([f"Table: {table.caption}", "", *rows, "", table.note])


def latex_table(table: ResultsTable) -> str:
    """A floating table of the package booktabs."""

    def line(cells: Sequence[str]) -> str:
        return f"{' & '.join(map(latex, cells))} \\\\"

    columns = "ll" + "r" * (len(table.head) - 2)
    return "\n".join(
        [
            "% needs \\usepackage{booktabs}",
            "\\begin{table}",
            "\\centering",
            f"\\caption{{{latex(table.caption)}}}",
            f"\\begin{{tabular}}{{{columns}}}",
            "\\toprule",
            line(table.head),
            "\\midrule",
            *map(line, table.rows),
            "\\bottomrule",
            "\\end{tabular}",
            "",
            f"\\smallskip {latex(table.note)}",
            "\\end{table}",
            "",
        ]
    )


def latex(text: str) -> str:
    """The text with what LaTeX reads as commands written out."""
    return re.sub("|".join(map(re.escape, LATEX)), lambda hit: LATEX[hit.group()], text)
