"""What keys do while a recording runs: one line can be open, and then no key is a mark."""

from __future__ import annotations

import pytest

from feltload.app.scripts.repetitions import RepetitionScript
from feltload.app.sessions.keys import keys_of
from feltload.app.sessions.recording_keys import RecordingKeys
from feltload.app.text.person.moments import moment_headline


class Marks:
    """Writes down what a recorder would be told."""

    def __init__(self) -> None:
        self.set: list[tuple[str, str]] = []
        self.stopped = False

    def stop(self) -> None:
        self.stopped = True

    def mark(self, kind, text="", *, duration_s=None, host_ns=None) -> None:
        self.set.append((kind, text))


@pytest.fixture
def marks() -> Marks:
    return Marks()


def typed(marks: Marks, text: str) -> RecordingKeys:
    keys = RecordingKeys(marks, RepetitionScript())
    for key in text:
        keys.press(key)
    return keys


@pytest.mark.parametrize(
    ("text", "note"),
    [
        ("nknee pops; quick, zero pain yet\n", "knee pops; quick, zero pain yet"),
        ("nStrap\x7f\x7f\x7f\x7f\x7fNew STRAP größer\n", "New STRAP größer"),
        ("n  \n", None),
        ("nkz\x1b", None),
    ],
)
def test_no_key_is_a_mark_while_a_note_is_typed(marks, text, note):
    keys = typed(marks, text)
    assert marks.set == ([] if note is None else [("note", note)])
    assert not marks.stopped
    assert keys.prompt is None


def test_the_open_line_is_shown(marks):
    assert "knq" in typed(marks, "nknq").prompt


def test_a_note_that_is_open_when_the_recording_ends_is_kept(marks):
    typed(marks, "nhalf a sent").keep_note()
    assert marks.set == [("note", "half a sent")]


@pytest.mark.parametrize("key", ["\n", "q", "Q"])
def test_the_end_is_asked_for_once(marks, key):
    keys = typed(marks, key)
    assert "End the recording?" in keys.prompt and not marks.stopped
    keys.press("\n")
    assert keys.prompt is None and not marks.stopped
    for again in (key, "y"):
        keys.press(again)
    assert marks.stopped and marks.set == []


def test_the_answer_no_opens_no_note_and_pain_is_heard_at_any_time(marks):
    assert typed(marks, "\nn").prompt is None
    typed(marks, "\np")
    assert marks.set == [("pain", "")]


def test_marks_by_key_in_either_case(marks):
    typed(marks, "kKzP")
    assert [kind for kind, _ in marks.set] == ["knock", "knock", "zero-after", "pain"]


def test_after_pain_nothing_but_the_end_is_asked_for(marks):
    script = RepetitionScript()
    RecordingKeys(marks, script).press("p")
    assert "Let the load down" in moment_headline(script.moment, None) and "clinician" in moment_headline(
        script.moment, None
    )
    assert not script.moves


def test_arrows_and_their_like_are_no_keys():
    """Control sequences of ECMA-48: an arrow, shift-tab (which ends in Z), a function key."""
    assert keys_of("\x1b[Ak\x1b[Z\x1bOP\x1b[15~\r") == "k\n"
    assert keys_of("\x1b") == "\x1b"
