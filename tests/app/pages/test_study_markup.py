"""A study's text and table in Markdown and LaTeX: markup is escaped, LaTeX compiles, numbers are the tidy tables'."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pandas as pd
import pytest

from feltload.app.cli import main
from feltload.app.pages.study.markup import BEYOND, latex, latex_table, latex_text, markdown_table, plain_text
from feltload.app.text.study.table import ResultsTable
from made_study import made_study

HOSTILE = r'Zurück_1 & Söhne #2, 50 % of {x}~^ \input{/etc/passwd} $a$ <b> |c| "é" ß ø *d* `e` [f]'
ARTICLE = (
    r"\documentclass{article}\usepackage{booktabs}\begin{document}\input{text}\input{table}\end{document}"
)
CELL = re.compile(r"([−\d.]+) \(([−\d.]+) to ([−\d.]+)\)")


@pytest.fixture(scope="module")
def hostile(tmp_path_factory) -> Path:
    """A study whose name is full of markup."""
    folder = tmp_path_factory.mktemp("markup")
    made_study(folder, machines=6)
    text = f"""name = '''{HOSTILE}

second paragraph'''
files = "results/*"
names = "{{machine}}-{{operator}}-{{day}}-{{remount}}"
wanted = {{ minimal_difference = "3 N", correlation = 0.9, width = 0.2 }}
"""
    (folder / "s.toml").write_text(text, encoding="utf-8")
    assert main(["study", str(folder / "s.toml"), "--out", str(folder / "out")]) == 0
    return folder / "out"


@pytest.mark.skipif(
    shutil.which("pdflatex") is None,
    reason="NOT tested: pdflatex missing here (install the package texlive-latex-recommended)",
)
def test_text_and_table_compile_and_fit_an_article(hostile):
    (hostile / "article.tex").write_text(ARTICLE, encoding="utf-8")
    words = [
        "pdflatex",
        "-interaction=nonstopmode",
        "-halt-on-error",
        "-no-shell-escape",
        "-draftmode",
        "article",
    ]
    done = subprocess.run(words, cwd=hostile, capture_output=True, timeout=240, check=False)
    log = (hostile / "article.log").read_text(encoding="latin-1")
    assert done.returncode == 0, log[-2000:]
    assert "Overfull" not in log
    assert "Missing character" not in log


def test_what_latex_reads_as_commands_is_written_out(hostile):
    table = (hostile / "table.tex").read_text(encoding="utf-8")
    assert r"Zurück\_1 \& Söhne \#2, 50~\% of \{x\}\textasciitilde{}\textasciicircum{}" in table
    assert r"\input" not in table and r"\textbackslash{}input\{/etc/passwd\} \$a\$" in table
    assert "\n\n" not in table[table.index(r"\caption") : table.index(r"\toprule")]
    assert latex("−1 ± 2 × 3²") == r"\(-\)1~\(\pm\)~2 \(\times\) 3\(^2\)"


def test_letters_that_pdflatex_lacks_are_said():
    plain = ResultsTable("Łódź", ("Quantity", "n"), (("peak", "1"),), "note", 1, ((1,),))
    assert BEYOND not in latex_table(plain)
    assert BEYOND in latex_text("測定", [], [])


def test_markdown_shows_the_text_as_it_is():
    assert plain_text("a_b *c* |d| <e>") == r"a\_b \*c\* \|d\| \<e\>"
    table = ResultsTable("c", ("Limits,\nA − B", "n|m"), (("x|y", "1"),), "note", 1, ((1,),))
    assert markdown_table(table).splitlines()[2:5] == [
        r"| Limits, A − B | n\|m |",
        "| --- | --- |",
        r"| x\|y | 1 |",
    ]


def printed_rows(folder: Path) -> list[list[str]]:
    """Rows of the table in LaTeX, panels joined by quantity."""
    rows: dict[str, list[str]] = {}
    for line in (folder / "table.tex").read_text(encoding="utf-8").splitlines():
        if " & " in line and "shortstack" not in line:
            first, *cells = line.removesuffix(r" \\").replace(r"\(-\)", "−").replace(r"\%", "%").split(" & ")
            rows.setdefault(first, []).extend(cells)
    return [[name, *cells] for name, cells in rows.items()]


def close(text: str, value: float) -> bool:
    """Whether the printed number is the value rounded."""
    digits = len(text.partition(".")[2])
    return float(text.replace("−", "-")) == pytest.approx(value, abs=0.5001 * 10.0**-digits)


def test_every_number_of_the_table_is_that_of_the_tidy_tables(hostile):
    statistics = (
        pd.read_csv(hostile / "statistics.csv").set_index(["quantity", "statistic", "form"]).sort_index()
    )
    agreement = pd.read_csv(hostile / "agreement.csv").set_index("quantity")
    quantities = {
        "Peak": "peak",
        "Mean force": "mean",
        "Force at": "end",
        "Drop": "drop_off",
        "Mean friction": "friction",
    }
    rows = printed_rows(hostile)
    assert len(rows) == 5
    for name, n, mean, sem, within, difference, cv, icc, limits in rows:
        quantity = next(key for start, key in quantities.items() if name.startswith(start))
        of = statistics.loc[quantity]
        assert int(n) == of["measurements"].iloc[0]
        for text, statistic in (
            (mean, "mean"),
            (within, "repeatability_sd"),
            (difference, "minimal_difference"),
        ):
            assert close(text, of.loc[statistic]["value"].item())
        for text, statistic, form in ((sem, "sem", None), (cv, "cv_percent", None), (icc, "icc", "2,1")):
            if text == "--":
                assert quantity == "drop_off"
                continue
            row = of.loc[statistic] if form is None else of.loc[(statistic, form)]
            found = CELL.fullmatch(text)
            assert found is not None
            for part, column in zip(found.groups(), ("value", "lower95", "upper95"), strict=True):
                assert close(part, float(row[column].item()) if form is None else float(row[column]))
        lower, upper = limits.split(" to ")
        assert close(lower, agreement.loc[quantity, "lower"])
        assert close(upper, agreement.loc[quantity, "upper"])
