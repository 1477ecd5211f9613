"""Methods, results and table of a study as Markdown and LaTeX."""

from __future__ import annotations

import re
from collections.abc import Sequence

from feltload.app.pages.page import unbroken
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
    "<": r"\textless{}",
    ">": r"\textgreater{}",
    "|": r"\textbar{}",
    "−": r"\(-\)",
    "±": r"\(\pm\)",
    "×": r"\(\times\)",
    "√": r"\(\surd\)",
    "²": r"\(^2\)",
    "–": "--",
    "\N{NO-BREAK SPACE}": "~",
    "\N{NARROW NO-BREAK SPACE}": r"\,",
}
LATEX_KNOWS = "\N{LATIN SMALL LETTER Z WITH CARON}"
"""The last letter that pdflatex prints by itself: those of European languages in Latin script."""
LINE_BREAK = r" \\ "
NEEDS = "% needs \\usepackage{booktabs}; letters such as ą or đ also \\usepackage[T1]{fontenc}"
BEYOND = "% holds letters that pdflatex does not know: use lualatex or xelatex with a font that has them"


def markdown(
    methods: str,
    sentences: Sequence[str],
    table: ResultsTable,
    missing: Sequence[str],
    references: Sequence[str],
) -> str:
    """The whole text: methods, results, table, what cannot be had, references."""
    parts = [
        "## Methods",
        plain_text(methods),
        "## Results",
        *map(plain_text, sentences),
        markdown_table(table),
    ]
    if missing:
        parts += ["## What to know about these data", _list(missing)]
    return "\n\n".join([*parts, "## References", _list(references)]) + "\n"


def _list(lines: Sequence[str]) -> str:
    return "\n".join(f"- {plain_text(line)}" for line in lines)


def plain_text(text: str) -> str:
    """The text with what Markdown reads as markup written out."""
    return re.sub(r"([\\`*_<>\[\]|])", r"\\\1", " ".join(text.split()))


def markdown_table(table: ResultsTable) -> str:
    """A table with pipes, its caption above and its note below."""

    def line(cells: Sequence[str]) -> str:
        return f"| {' | '.join(cells)} |"

    rows = [line(list(map(plain_text, table.head))), line(["---"] * len(table.head))]
    rows += [line(list(map(plain_text, row))) for row in table.rows]
    return "\n".join([f"Table: {plain_text(table.caption)}", "", *rows, "", plain_text(table.note)])


def latex_table(table: ResultsTable) -> str:
    """A floating table of the package booktabs that fits the text of an article: panels below one another."""
    panels = "\n\n\\medskip\n".join(_panel(table, columns) for columns in table.panels)
    return _document(
        "\\begin{table}",
        "\\centering\\footnotesize\\setlength{\\tabcolsep}{4pt}",
        f"\\caption{{{latex(table.caption)}}}",
        panels,
        "",
        f"\\smallskip\n\\parbox{{\\linewidth}}{{\\footnotesize {latex(table.note)}}}",
        "\\end{table}",
    )


def latex_text(methods: str, sentences: Sequence[str], references: Sequence[str]) -> str:
    """Methods and results as paragraphs, and the references of both."""
    items = "\n".join(f"\\item {latex(line)}" for line in references)
    return _document(
        "\\section*{Methods}",
        latex(methods),
        "\\section*{Results}",
        "\n\n".join(map(latex, sentences)),
        "\\section*{References}",
        f"\\begin{{itemize}}\\raggedright\n{items}\n\\end{{itemize}}",
    )


def _document(*parts: str) -> str:
    text = "\n".join(parts)
    beyond = any(letter.isalpha() and letter > LATEX_KNOWS for letter in text)
    return "\n".join([NEEDS, *([BEYOND] if beyond else []), text, ""])


def _panel(table: ResultsTable, columns: Sequence[int]) -> str:
    leading = table.leading
    picked = [*range(leading), *columns]

    def line(cells: Sequence[str]) -> str:
        return f"{' & '.join(cells)} \\\\"

    heads = [_stacked(table.head[k], "l" if k < leading else "r") for k in picked]
    body = [line([latex(row[k]) for k in picked]) for row in table.rows]
    return "\n".join(
        [
            f"\\begin{{tabular}}{{{'l' * leading}{'r' * len(columns)}}}",
            "\\toprule",
            line(heads),
            "\\midrule",
            *body,
            "\\bottomrule",
            "\\end{tabular}",
        ]
    )


def _stacked(head: str, side: str) -> str:
    """A head of several lines, one below the other."""
    lines = [latex(line) for line in head.split("\n")]
    return lines[0] if len(lines) == 1 else f"\\shortstack[{side}]{{{LINE_BREAK.join(lines)}}}"


def latex(text: str) -> str:
    """The text with what LaTeX reads as commands written out."""
    return re.sub("|".join(map(re.escape, LATEX)), lambda hit: LATEX[hit.group()], unbroken(_one_line(text)))


def _one_line(text: str) -> str:
    """An empty line would end the caption that it stands in."""
    return re.sub(r"[ \t\r\n]+", " ", text)
