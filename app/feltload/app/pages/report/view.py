"""What the report says, as words and figures ready to be set; no numbers are worked out below this."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from feltload.app.pages.canvas import Drawing
from feltload.app.pages.target_view import TargetView
from feltload.app.text.key_figure import KeyFigure


class Tone(StrEnum):
    """How a verdict is set; always beside words that say the same."""

    GOOD = "good"
    CAREFUL = "careful"
    BAD = "bad"


@dataclass(frozen=True)
class LoadRow:
    """One load's profile in a line of the table under the figure."""

    load: str
    heaviest: str
    lightest: str
    drop_off: str
    shape: str


@dataclass(frozen=True)
class RepetitionRow:
    """One repetition."""

    number: str
    load: str
    range: str
    raising_s: str
    lowering_s: str
    peak: str
    work_j: str


@dataclass(frozen=True)
class BudgetRow:
    """One source of uncertainty; `share_percent` also sets the length of its bar."""

    source: str
    u: str
    share_percent: float


@dataclass(frozen=True)
class FittedRow:
    """One dimension of the machine, surveyed and as the measurement wants it."""

    name: str
    surveyed: str
    fitted: str
    shift: str
    moved: bool


@dataclass(frozen=True)
class Verdict:
    """Whether the measurement agrees with the machine file."""

    word: str
    tone: Tone
    explanation: str
    score: str
    swing: str | None
    figure: Drawing
    fitted: tuple[FittedRow, ...]


@dataclass(frozen=True)
class HealthRow:
    """One sensor's stream in one recording."""

    stream: str
    rate: str
    faults: str
    tone: Tone


@dataclass(frozen=True)
class CheckRow:
    """One known weight that hung on the cell of one recording."""

    recording: str
    text: str
    tone: Tone


@dataclass(frozen=True)
class InputRow:
    """One recording that the result was made from."""

    name: str
    load: str
    started: str
    sha256: str


@dataclass(frozen=True)
class ProfileView:
    """What the page of a profile says, measured or predicted."""

    machine: str
    summary: str
    force_unit: str
    headline: str
    facts: tuple[KeyFigure, ...]
    warnings: tuple[str, ...]
    profile_figure: Drawing
    loads: tuple[LoadRow, ...]
    positions: str
    targets: TargetView | None
    friction_figure: Drawing | None
    friction_words: str
    machine_drawing: Drawing | None
    budget: tuple[BudgetRow, ...]
    budget_words: str
    cautions: tuple[str, ...]
    made_with: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class ReportView(ProfileView):
    """The whole page of a measured profile."""

    invented: bool
    advice: str
    findings: tuple[str, ...]
    verdict: Verdict | None
    repetitions: tuple[RepetitionRow, ...]
    health: tuple[HealthRow, ...]
    field_checks: tuple[CheckRow, ...]
    inputs: tuple[InputRow, ...]
