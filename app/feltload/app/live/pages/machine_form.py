"""The page on which a machine is described, with a drawing that follows what is typed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nicegui import ui

from feltload.app.live.pages.bench import Bench
from feltload.app.live.pages.elements import Field, Plain, folded, heading, paragraph, section
from feltload.app.live.pages.shell import Page, inside
from feltload.app.live.pages.sketch import Sketch
from feltload.app.live.setup.folder import plain_name
from feltload.app.text.live import describing as words
from feltload.app.text.live.start import WATCH_ONLY
from feltload.app.text.machine.questions import (
    choice_text,
    kind_text,
    left_out_text,
    part_text,
    question_how,
    question_text,
)
from feltload.calibration import (
    AnswerKind,
    DraftPart,
    GeometryError,
    MachineDraft,
    MachineError,
    NeededFor,
    PartToAsk,
    Question,
    example_text,
    machine_questions,
    mechanism_kinds,
    parse_machine,
    part_questions,
    parts_to_ask,
)
from feltload.core import write_file


def declare(bench: Bench) -> None:
    """Declare the page."""

    @ui.page("/machine")
    def machine_form() -> None:
        with Page(bench, words.HEADING, "/machine", classes="two") as page:
            if page.controls:
                _Form(page).build()
            else:
                paragraph(WATCH_ONLY, "wide")


def _unanswered(draft: MachineDraft) -> list[Question]:
    """Questions whose answer a profile cannot do without."""
    return [question for question in draft.open_questions(NeededFor.PROFILE) if not question.optional]


class _Form:
    """One machine being described."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.kind = mechanism_kinds()[0]
        self.typed: dict[str, str] = {}
        self.fields: dict[str, Field] = {}

    def build(self) -> None:
        """Kinds by their pictures, then the questions beside the drawing."""
        with section(words.KIND).classes("wide"):
            self.kinds = Plain("div", classes="picks")
        with section(words.DRAWING).classes("stays"):
            self.sketch = Sketch(words.DRAWING_ALT, "sketch")
            self.remark = Plain("p", words.DRAWN_WITH_EXAMPLES, "small", {"aria-live": "polite"})
        with Plain("div", classes="part"):
            paragraph(words.BEFORE_MEASURING, "caution")
            paragraph(words.UNCERTAINTY, "small")
            self.questions = Plain("div", classes="inner")
            self.page.act(words.SAVE, self._save, "act main")
            self.saved = Plain("p", attributes={"role": "status"})
        self._choose(self.kind)

    def _choose(self, kind: str) -> None:
        self.kind, self.typed = kind, {"name": self.typed.get("name", "")}
        with inside(self.kinds):
            for one in mechanism_kinds():
                self._picture(one)
        self._ask()
        self._follow()

    def _picture(self, kind: str) -> None:
        def choose() -> None:
            self._choose(kind)

        with self.page.act("", choose, "pick", aria_pressed=str(kind == self.kind).lower()):
            Sketch("", "small-sketch").draw(parse_machine(example_text(kind), kind))
            Plain("b", kind)
            Plain("span", kind_text(kind), "small")

    def _ask(self) -> None:
        self.fields = {}
        asked = machine_questions(self.kind)
        first = [one for one in asked if one.needed_for is NeededFor.PROFILE]
        with inside(self.questions):
            heading(words.needed_heading(NeededFor.PROFILE))
            self._fields([one for one in first if not one.optional])
            if any(one.optional for one in first):
                with folded(words.UNUSUAL):
                    self._fields([one for one in first if one.optional])
            with folded(words.needed_heading(NeededFor.CHECK)):
                self._fields([one for one in asked if one.needed_for is NeededFor.CHECK])
                for part in parts_to_ask(self.kind):
                    self._ask_part(part)

    def _fields(self, questions: Sequence[Question]) -> None:
        for question in questions:
            self._field(question.key, question, question_text(question))

    def _ask_part(self, part: PartToAsk) -> None:
        heading(part_text(part), 3)
        for question in part_questions(self.kind, part.link, is_load=part.is_load):
            self._field(f"{part.name}.{question.key}", question, f"{part.name}: {question_text(question)}")

    def _field(self, key: str, question: Question, label: str) -> None:
        def typed(text: str) -> None:
            self.typed[key] = text
            self.saved.say("")
            self._follow()

        choices = [(choice, choice_text(choice)) for choice in question.choices]
        if question.answer is AnswerKind.CHOICE:
            self.typed.setdefault(key, question.example)
        how = question_how(question)
        empty = left_out_text(question)
        hint = f"{how}; such as {question.example}{f'. Empty: {empty}' if empty else ''}"
        self.fields[key] = self.page.field(
            label, self.typed.get(key, ""), typed, hint="" if choices else hint, choices=choices
        )

    def _draft(self) -> MachineDraft:
        """What the answers amount to so far; each field says what is wrong with its own."""
        draft = MachineDraft(self.kind)
        for question in machine_questions(self.kind):
            text = self.typed.get(question.key, "").strip()
            if not text:
                self.fields[question.key].complain("")
                continue
            try:
                draft = draft.with_answer(question, text)
            except MachineError as error:
                self.fields[question.key].complain(str(error))
            else:
                self.fields[question.key].complain("")
        for part in parts_to_ask(self.kind):
            draft = self._with_part(draft, part)
        return draft

    def _with_part(self, draft: MachineDraft, part: PartToAsk) -> MachineDraft:
        asked = part_questions(self.kind, part.link, is_load=part.is_load)
        keys = {question.key: f"{part.name}.{question.key}" for question in asked}
        answers = {key: self.typed.get(named, "").strip() for key, named in keys.items()}
        for named in keys.values():
            self.fields[named].complain("")
        if not any(answers.values()):
            return draft
        for question in asked:
            try:
                # One at a time, so that the right field says what is wrong.
                others = {other.key: other.example for other in asked}
                draft.with_part(
                    DraftPart(
                        part.name, part.link, part.is_load, {**others, question.key: answers[question.key]}
                    )
                )
            except MachineError as error:
                self.fields[keys[question.key]].complain(str(error))
                return draft
        return draft.with_part(DraftPart(part.name, part.link, part.is_load, answers))

    def _follow(self) -> None:
        """Draw what is typed."""
        try:
            draft = self._draft()
            self.sketch.draw(draft.sketch())
        except (MachineError, GeometryError) as error:
            self.remark.say(words.cannot_be_drawn(str(error)))
        else:
            self.remark.say(words.DRAWN_WITH_EXAMPLES if _unanswered(draft) else "")

    def _save(self) -> None:
        draft = self._draft()
        missing = _unanswered(draft)
        for question in missing:
            try:
                draft.with_answer(question, self.typed.get(question.key, ""))
            except MachineError as error:
                self.fields[question.key].complain(str(error))
        if missing:
            raise MachineError(question_text(missing[0]), remedy=f"such as {missing[0].example}")
        draft.machine()
        path = self.page.bench.folder.free_name(plain_name(draft.answers["name"]), ".toml")
        write_file(path, draft.text())
        self.page.bench.choices = replace(self.page.bench.choices, machine=path.name)
        self.saved.say(words.saved_text(path.name))
