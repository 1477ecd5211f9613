"""Every command ends by naming the next one, and what it names is understood by the program."""

from __future__ import annotations

import itertools
import re
import shlex
from pathlib import Path

import pytest
from cyclopts import App

from feltload.app.cli import build_app, main
from feltload.app.commands.client.arguments import EndOptions, PainOptions
from feltload.app.files.provenance import Provenance, RecordingSource
from feltload.app.next_steps.after import AFTER, next_step
from feltload.app.options import PersonOptions

GIVEN = {
    "out": Path("my results/a.mcap"),
    "recording": Path("a.mcap"),
    "machine": Path("row.toml"),
    "machines": [Path("row.toml")],
    "result": Path("row"),
    "results": [Path("row"), Path("press")],
    "profile": Path("row"),
    "capacity": Path("capacity.json"),
    "left": Path("left.json"),
    "target": 0.7,
    "parent": Path("clients"),
    "folder": Path("clients/K7QW3D"),
}


def chains(app: App, above: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    """Every command of the program that does something."""
    found = []
    for name in app:
        if name.startswith("-"):
            continue
        inner = chains(app[name], (*above, name))
        found += inner or [(*above, name)]
    return found


def test_every_command_has_a_next_one():
    assert set(chains(build_app())) == set(AFTER)


def test_what_is_named_is_a_command():
    app = build_app()
    person = PersonOptions(Path("row"), Path("capacity.json"), client=Path("c/A1"))
    more = ({}, {"kind": "holds"}, {"kind": "helped", "start": Path("a.toml")})
    cases = itertools.product(AFTER, more, ({"person": None}, {"person": person}), (0, 1))
    named = {next_step(chain, {**GIVEN, **one, **who}, outcome).command for chain, one, who, outcome in cases}
    for command in named:
        _, bound, unused = app.parse_args(shlex.split(command)[1:], exit_on_error=False, print_error=False)
        assert not unused and bound.arguments, command


def test_it_is_found_from_what_each_command_is_really_given():
    """Every command line that a help text gives as its example, and the command after it."""
    app = build_app()
    sources = (Path(__file__).parents[2] / "app" / "feltload" / "app" / "commands").rglob("*.py")
    example = re.compile(r"^ +Example: (feltload .*?)(?:\n *\n|\"\"\")", re.DOTALL | re.MULTILINE)
    lines = [line for path in sources for line in example.findall(path.read_text("utf-8"))]
    seen = set()
    for words in (shlex.split(line)[1:] for line in lines):
        _, bound, _ = app.parse_args(words, exit_on_error=False, print_error=False)
        bound.apply_defaults()
        chain = app.parse_commands(words)[0]
        command = next_step(chain, bound.arguments, 0).command
        app.parse_args(shlex.split(command)[1:], exit_on_error=False, print_error=False)
        assert "None" not in command, command
        seen.add(chain)
    assert seen == set(AFTER)


def test_names_of_files_are_filled_in_also_with_spaces():
    recorded = next_step(("record",), {**GIVEN, "kind": "holds"}, 0)
    assert (
        recorded.command == "feltload client capacity 'my results/a.mcap' --out 'my results/a-capacity.json'"
    )
    helped = {**GIVEN, "kind": "helped", "person": PersonOptions(Path("row"), Path("c.json"), 0.6)}
    assert next_step(("record",), helped, 0).command.startswith(
        "feltload client delivered row 'my results/a.mcap' --capacity c.json --target '60 %'"
    )


@pytest.mark.parametrize("name", ["positions", "match", "plan", "limit", "what-if", "effort", "delivered"])
def test_a_painful_range_is_handed_on(name):
    """Without it the next command would plan work where it hurts."""
    pain = PainOptions(["-5:20 deg", "30:35 deg"], Path("clients/A1"))
    command = next_step(("client", name), {**GIVEN, "pain": pain}, 0).command
    _, bound, _ = build_app().parse_args(shlex.split(command)[1:], exit_on_error=False, print_error=False)
    told = bound.arguments.get("pain") or bound.arguments["person"]
    assert list(told.painful) == ["-5:20 deg", "30:35 deg"]
    assert told.client == Path("clients/A1")


def test_a_clients_page_leads_to_the_clients_history():
    known = PainOptions(None, Path("clients/A1"))
    assert next_step(("client", "sheet"), {**GIVEN, "pain": known}, 0).command == (
        "feltload client history clients/A1"
    )


def test_a_start_and_stop_are_handed_on_from_match_to_plan():
    ends = EndOptions("-10 deg", "80 %")
    command = next_step(("client", "match"), {**GIVEN, "ends": ends}, 0).command
    _, bound, _ = build_app().parse_args(shlex.split(command)[1:], exit_on_error=False, print_error=False)
    assert bound.arguments["ends"] == ends


@pytest.mark.parametrize("kind", ["holds", "helped"])
def test_a_painful_range_of_a_recording_is_handed_on(kind):
    person = PersonOptions(Path("row"), Path("c.json"), painful=["20:40 deg"], client=Path("clients/A1"))
    command = next_step(("record",), {**GIVEN, "kind": kind, "person": person}, 0).command
    assert "--painful '20:40 deg'" in command
    assert command.count("--client") == 1


@pytest.mark.parametrize(("option", "named"), [((), True), (("--quiet",), False), (("--json",), False)])
def test_it_is_the_last_line_unless_quiet_or_for_programs(tmp_path, capsys, option, named):
    assert main(["client", "new", str(tmp_path), "--code", "A1", *option]) == 0
    shown = capsys.readouterr()
    assert "Next:" not in shown.out
    last = shown.err.splitlines()[-1]
    assert last.startswith("Next: feltload client capacity") is named
    assert (str(tmp_path / "A1") in last) is named
    # What a person must know stays.
    assert "Which code is whose" in shown.err


def test_an_error_names_its_remedy_and_no_next_command(tmp_path, capsys):
    assert main(["client", "history", str(tmp_path)]) == 2
    assert "Next:" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("masses", "next_word"),
    [
        ("", "client"),
        ('[[lever.mass]]\nname = "p"\nmass = "load"\nradius = "1 m"\nangle = "0 deg"\n', "check"),
    ],
)
def test_a_check_is_named_only_where_it_could_be_made(tmp_path, masses, next_word):
    machine = f'name = "row"\nmechanism = "lever"\nstart_angle = "0 deg"\n[lever]\nhandle_radius = "0.6 m"\n{masses}'
    source = RecordingSource(name="a.mcap", sha256="", load_kg=20.0, started_utc="")
    Provenance(feltload="0", recordings=(source,), machine_toml=machine).save(tmp_path)
    step = next_step(("profile",), {**GIVEN, "out": tmp_path}, 0)
    assert step.words[0] == next_word
    assert ("weights" in step.why) is (next_word == "client")
