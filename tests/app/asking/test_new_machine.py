"""``feltload new machine`` as a person uses it: on a real terminal, left and gone on with, and from a list."""

from __future__ import annotations

import os
import signal
from collections.abc import Sequence
from pathlib import Path

import pytest

from feltload.app.asking.answers import answers_text, read_answers
from feltload.app.cli import main
from feltload.calibration import load_machine, mechanism_kinds, reference_of
from person_terminal import Terminal

PROFILE_ONLY = ("1", "bench row", "-25(0.3) deg", "655(2) mm", "", "", "", "n")
WITH_MASSES = (
    *PROFILE_ONLY[:-1],
    "y",
    "270(3) mm",
    "13(1) deg",
    "y",
    "9.5(0.1) kg",
    "380(3) mm",
    "-21(1) deg",
)


def from_list(folder: Path, answers: Sequence[str], *more: str) -> tuple[int, Path]:
    listed = folder / "answers.txt"
    listed.write_text(answers_text(answers), encoding="utf-8")
    machine = folder / "row.toml"
    return main(["new", "machine", str(machine), "--answers", str(listed), "--quiet", *more]), machine


def test_answers_are_written_and_read_back() -> None:
    answers = ["1", "", "a # b", "-25 deg"]
    assert read_answers(answers_text(answers)) == answers


def test_a_profile_needs_few_answers(tmp_path, capsys) -> None:
    code, machine = from_list(tmp_path, PROFILE_ONLY)
    assert code == 0
    reference = reference_of(load_machine(machine))
    assert reference.handle_radius_m == pytest.approx(0.655)
    assert (tmp_path / "row.svg").read_text("utf-8").lstrip().startswith("<?xml")
    assert "need the machine's weights" in capsys.readouterr().out


def test_the_file_is_good_for_survey_unchanged(tmp_path, capsys) -> None:
    code, machine = from_list(tmp_path, WITH_MASSES)
    assert code == 0
    assert main(["survey", str(machine), "--quiet"]) == 0
    assert "plates radius" in capsys.readouterr().out


def test_what_is_there_stays_unless_it_may_be_replaced(tmp_path, capsys) -> None:
    (tmp_path / "row.toml").write_text("mine")
    code, machine = from_list(tmp_path, PROFILE_ONLY)
    assert (code, machine.read_text()) == (2, "mine")
    assert "--force-overwrite" in capsys.readouterr().err
    assert from_list(tmp_path, PROFILE_ONLY, "--force-overwrite")[0] == 0
    assert load_machine(machine).name == "bench row"


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        ((*PROFILE_ONLY[:3], "655"), "answer 4 (How far is the handle"),
        (("9",), "type a number from 1 to"),
        (PROFILE_ONLY[:3], 'the answers end before "How far is the handle'),
        ((*PROFILE_ONLY, "y"), "answer 9"),
        ((*PROFILE_ONLY[:-1], "maybe"), "neither yes nor no"),
        ((*WITH_MASSES, "plates"), 'there is a "plates" already'),
        (
            ("linkage", *PROFILE_ONLY[1:]),
            "none of the answers",
        ),
        (
            (
                "four-bar",
                "press",
                "20 deg",
                "",
                "700 mm",
                "1900 mm",
                "0 deg",
                "250 mm",
                "70 deg",
                "520 mm",
                "400 mm",
            ),
            "four-bar",
        ),
    ],
)
def test_a_list_that_cannot_be_used_is_named_in_one_line(tmp_path, capsys, answers, said) -> None:
    code, machine = from_list(tmp_path, answers)
    said_line = capsys.readouterr().err.strip()
    assert code == 2
    assert said in said_line
    assert "\n" not in said_line
    assert not machine.exists()


def test_without_a_terminal_and_without_answers_nothing_is_asked(feltload, tmp_path) -> None:
    feltload("new", "machine", tmp_path / "row.toml").one_line_error("terminal", "--answers")


@pytest.mark.parametrize("words", [("row.svg",), ("row.toml", "--drawing", "row.toml")])
def test_names_that_end_otherwise_are_refused(capsys, words) -> None:
    assert main(["new", "machine", *words]) == 2
    assert "end the name in" in capsys.readouterr().err


@pytest.mark.needs("pty")
@pytest.mark.timeout(600)
def test_left_in_the_middle_and_gone_on_with(tmp_path) -> None:
    machine, kept = tmp_path / "row.toml", tmp_path / "row.toml.answers"
    person = Terminal("new", "machine", str(machine))
    person.wait_for("its number:")
    person.type("1")
    person.wait_for("What do you call this machine?")
    person.type("bench row")
    # How to measure it, an example with its uncertainty, and which way round angles are counted.
    person.wait_for("on the start stop? Digital level")
    person.wait_for("such as -25(0.3) deg.")
    person.type("-25")
    person.wait_for('! "-25" has no unit; give an angle, such as "-25(0.3) deg" How steep')
    # An arrow key in the middle.
    person.type("-1\x1b[D5 deg")
    person.wait_for("! arrow and control keys type nothing here")
    person.type("-15 deg")
    person.wait_for("How far is the handle")
    person.type("back")
    person.wait_for("How steep is the line from hinge to handle")
    person.type("-25(0.3) deg")
    person.wait_for("How far is the handle")
    drawn = tmp_path / "row.svg"
    assert drawn.exists()
    os.kill(person.process.pid, signal.SIGINT)
    person.wait_for("Left after 3 answers")
    assert person.end() == 130
    assert read_answers(kept.read_text("utf-8")) == ["1", "bench row", "-25(0.3) deg"]
    assert not machine.exists()

    again = Terminal("new", "machine", str(machine))
    again.wait_for("Going on after 3 answers")
    again.wait_for("How far is the handle")
    for answer, then in (
        ("655(2) mm", "Is the hinge's axle inclined"),
        ("", "Does the hand pull through a strap"),
        ("", "square to it"),
        ("", "That is enough to measure a profile"),
        ("", f"Drawing: {drawn}"),
    ):
        again.type(answer)
        if then.startswith("Drawing"):
            again.wait_for("need the machine's weights as well")
        else:
            again.wait_for(then)
    assert again.end() == 0
    assert not kept.exists()
    made = load_machine(machine)
    assert (made.name, made.start_angle.u) == ("bench row", pytest.approx(0.3 * 3.14159265 / 180.0))


def test_a_link_that_does_not_fit_is_asked_again(tmp_path) -> None:
    """Lengths that make no loop: the numbers before are kept, only the wrong one is typed once more."""
    from feltload.app.asking.answers import Answers
    from feltload.app.asking.machine_dialogue import ask_machine

    first = (
        "four-bar",
        "press",
        "20 deg",
        "",
        "700 mm",
        "1900 mm",
        "0 deg",
        "250 mm",
        "70 deg",
        "520 mm",
        "400 mm",
    )
    shown: list[str] = []
    typed = iter([*first, "", "", "", "", "", "", "600 mm", *[""] * 7, "n"])
    answers = Answers([], read=lambda _: next(typed), say=shown.append, keep=lambda _: None, where="")
    made = ask_machine(answers, lambda _: None).machine()
    (said,) = [line for line in shown if line.startswith("!")]
    assert "does not close" in said
    assert [p.value for p in made.parameters if p.key.dimension == "ground_length"] == [pytest.approx(0.6)]
    assert len(mechanism_kinds()) >= 4
