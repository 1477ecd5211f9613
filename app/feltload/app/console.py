"""Where a command's words go: results on standard output, everything else on standard error."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING

from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

from feltload.app.options import CommonOptions
from feltload.app.terminal import Terminal, printable

if TYPE_CHECKING:
    from enum import StrEnum

    from feltload.coaching import Caution
    from feltload.core import Fact
    from feltload.signal import ProfileEstimate

_LONGEST_ERROR = 1000
Advance = Callable[[float], None]


class Console:
    """Prints for one command, for a person or (``--json``) for a program.

    Parameters
    ----------
    options : CommonOptions
        With ``options.json`` standard output carries the JSON result alone.
    """

    def __init__(self, options: CommonOptions) -> None:
        from feltload.app.files.settings import load_settings
        from feltload.app.text.numbers import ForceUnit, write_forces_in

        self.options = options
        write_forces_in(ForceUnit(options.units or load_settings().units))
        self.screen = Terminal(stderr=True, highlight=False)
        self._out = Terminal(highlight=False, soft_wrap=True)

    def say(self, text: str = "") -> None:
        """Print a line of the result for a person; silent under ``--json``."""
        if not self.options.json:
            self._out.print(text, markup=False)

    def findings(self, estimate: ProfileEstimate) -> None:
        """Say in plain words what a profile shows, and what is wrong with the data behind it."""
        from feltload.app.text.facts import describe, describe_fully
        from feltload.core import Severity, serious_facts
        from feltload.signal import FindingFact, summarize_findings

        for fact in serious_facts(estimate.warnings):
            self.say(f"! {describe_fully(fact)}")
        for fact in summarize_findings(estimate):
            self.say(("" if fact.kind == FindingFact.SHAPE else "  ") + describe(fact))
        for fact in estimate.warnings:
            if fact.severity is not Severity.SERIOUS:
                self.say(f"Note: {describe(fact)}")

    def doubts(
        self, estimate: ProfileEstimate, name: str = "", *, without: type[StrEnum] | None = None
    ) -> None:
        """Repeat on standard error what put a profile in serious doubt, before anything rests on it."""
        from feltload.app.text.facts import describe
        from feltload.core import serious_facts

        judged_again = set() if without is None else {str(kind) for kind in without}
        for fact in serious_facts(estimate.warnings):
            if str(fact.kind) not in judged_again:
                self.note(f"! In doubt, {name or estimate.machine_name}: {describe(fact)}")

    def facts(self, facts: Iterable[Fact]) -> None:
        """Print facts on standard error, one line each."""
        from feltload.app.text.facts import describe

        for fact in facts:
            self.note(f"Note: {describe(fact)}")

    def cautions(self, cautions: Iterable[Caution]) -> None:
        """Print the cautions that go with a result on standard error."""
        from feltload.app.text.cautions import CAUTIONS

        for caution in cautions:
            self.note(CAUTIONS[caution])

    def note(self, text: str) -> None:
        """Print a remark (a caution, a warning, what happens next) on standard error."""
        # A terminal breaks lines within words; a file keeps one line for one remark.
        self.screen.print(text, markup=False, soft_wrap=not self.screen.is_terminal)

    def result(self, record: Mapping[str, object]) -> None:
        """Print the machine-readable result; silent without ``--json``."""
        if self.options.json:
            sys.stdout.write(json.dumps(record, indent=2, default=_plain, allow_nan=False) + "\n")
            sys.stdout.flush()

    def require_yes(self, question: str, otherwise: str, *, where: str, option: str) -> None:
        """Ask on a terminal what `option` would have said.

        Raises
        ------
        UsageError
            The answer is not yes, or nobody is there to give one.
        """
        from rich.prompt import Confirm

        from feltload.app.errors import UsageError

        there = sys.stdin.isatty() and self.screen.is_terminal and not self.options.json
        if not there or not Confirm.ask(question, console=self.screen, default=False):
            raise UsageError(otherwise, where=where, remedy=f"add {option} if it is so")

    @contextmanager
    def progress(self, title: str, *, total: float | None = None) -> Iterator[Advance]:
        """Show a bar for as long as the block runs.

        Parameters
        ----------
        title : str
            What is being done.
        total : float, optional
            Size of the whole job; without it the bar shows that work goes on.

        Yields
        ------
        callable
            ``advance(done)`` sets how much of `total` is done.
        """
        with Progress(
            SpinnerColumn(),
            TextColumn("{task.description}"),
            BarColumn(bar_width=28),
            TimeElapsedColumn(),
            console=self.screen,
            transient=True,
            disable=not self.screen.is_terminal,
        ) as bar:
            task = bar.add_task(title, total=total)
            yield lambda done: bar.update(task, completed=done)


def print_error(message: str) -> None:
    """Print one line on standard error, its middle left out where what it quotes is endless."""
    line = " ".join(message.split())
    if len(line) > _LONGEST_ERROR:
        half = _LONGEST_ERROR // 2
        line = f"{line[:half]} … {line[-half:]}"
    sys.stderr.write(f"feltload: {printable(line)}\n")
    sys.stderr.flush()


def _plain(value: object) -> object:
    """JSON for what is not JSON by itself: paths and NumPy numbers and arrays."""
    tolist = getattr(value, "tolist", None)
    return tolist() if tolist is not None else str(value)
