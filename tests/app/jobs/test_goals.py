"""`feltload start`: at a real terminal, for programs, and what it names for what is there."""

from __future__ import annotations

import json
import os
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from feltload.app.cli import build_app
from feltload.app.jobs.beginning.at_hand import AtHand, look_around
from feltload.app.jobs.beginning.goals import Goal, live_installed, plan_for
from person_terminal import Terminal

ROW, RIG, RESULT, CAPACITY = Path("row.toml"), Path("rig.toml"), Path("row"), Path("anna.json")
ONE, TWO = Path("a.mcap"), Path("b.mcap")


@pytest.mark.parametrize(
    ("goal", "found", "ports", "now"),
    [
        (Goal.MEASURE, AtHand(), (), "new machine machine.toml"),
        (Goal.MEASURE, AtHand(machines=(ROW,)), (), "doctor"),
        (Goal.MEASURE, AtHand(machines=(ROW,)), ("/dev/ttyUSB0",), "devices /dev/ttyUSB0 --write rig.toml"),
        (Goal.MEASURE, AtHand(machines=(ROW,), rigs=(RIG,)), (), "record rig.toml --machine row.toml"),
        (
            Goal.MEASURE,
            AtHand((ROW,), (RIG,), (ONE, TWO)),
            (),
            "profile a.mcap b.mcap --machine row.toml --out row",
        ),
        (Goal.CHECK, AtHand(), (), "new machine"),
        (Goal.CHECK, AtHand((ROW,), (), (ONE,)), (), "profile a.mcap --machine row.toml --out row"),
        (Goal.CHECK, AtHand((ROW,), results=(RESULT,)), (), "check row --machine row.toml"),
        (Goal.CLIENT, AtHand(results=(RESULT,)), (), "client positions row"),
        (
            Goal.CLIENT,
            AtHand(results=(RESULT,), capacities=(CAPACITY,)),
            (),
            "client match row anna.json --load LOAD",
        ),
    ],
)
def test_the_next_command_follows_from_what_is_there(goal, found, ports, now):
    plan = plan_for(goal, found, ports)
    assert plan.now.command.startswith(f"feltload {now}")
    for step in (plan.now, plan.instead):
        if step is not None:
            assert step.why
            build_app().parse_args(shlex.split(step.command)[1:], exit_on_error=False, print_error=False)


def test_the_page_leads_on_to_the_client_where_it_is_installed():
    plan = plan_for(Goal.CLIENT, AtHand(results=(Path("row"),), capacities=(Path("c.json"),)), (), live=True)
    assert plan.now.command == "feltload live"
    assert plan.instead is not None and plan.instead.command.startswith("feltload client match row c.json")
    check = plan_for(Goal.CHECK, AtHand(results=(Path("row"),)), (), live=True)
    assert check.now.command.startswith("feltload check row")


def test_the_page_leads_through_a_measurement_where_it_is_installed():
    plan = plan_for(Goal.MEASURE, AtHand(rigs=(RIG,)), (), live=True, folder=Path("gym"))
    assert plan.now.command == "feltload live rig.toml --folder gym"
    assert plan.instead is not None and plan.instead.command == "feltload new machine machine.toml"
    words = shlex.split(plan.now.command)[1:]
    build_app().parse_args(words, exit_on_error=False, print_error=False)


def test_files_are_known_by_what_is_in_them(tmp_path, recordings):
    for name in ("lever-row.toml", "lever-row-40kg.mcap", "client-holds.mcap"):
        shutil.copy(recordings / name, tmp_path)
    (tmp_path / "gym.toml").write_text('name = "gym"\n[[streams]]\nname = "cell"\n')
    (tmp_path / "other.toml").write_text("a = 1\n")
    (tmp_path / "broken.toml").write_text("mechanism = \n")
    (tmp_path / "broken.json").write_text("{")
    (tmp_path / "broken.mcap").write_bytes(b"\x00" * 50)
    (tmp_path / "gone.toml").symlink_to(tmp_path / "nowhere")
    (tmp_path / "row").mkdir()
    (tmp_path / "row" / "profile.json").write_text("{}")
    (tmp_path / "c.json").write_text('{"force_n": [], "angle_deg": [], "source": "holds"}')
    found = look_around(tmp_path)
    names = {kind: [path.name for path in getattr(found, kind)] for kind in vars(found)}
    assert names == {
        "machines": ["lever-row.toml"],
        "rigs": ["gym.toml"],
        # A person's holds are no recording of the machine.
        "recordings": ["lever-row-40kg.mcap"],
        "results": ["row"],
        "capacities": ["c.json"],
    }


@pytest.mark.needs("pty")
def test_it_asks_a_person_and_names_the_command(tmp_path):
    (tmp_path / "row.toml").write_text('mechanism = "lever"\n')
    person = Terminal("start", "--bluetooth=false", cwd=tmp_path)
    person.wait_for("What do you want to do? 1 measure a machine 2 fit a machine to a client 3 check")
    person.wait_for("its number:")
    person.type("7")
    person.wait_for("its number:")
    person.type("2")
    person.wait_for("Machine files: row.toml")
    if live_installed():
        person.wait_for("Now: feltload live")
        person.wait_for("Open the page now?")
        person.type("n")
    person.wait_for("Next: feltload doctor")
    assert person.end() == 0


@pytest.mark.needs("pty")
@pytest.mark.timeout(300)
def test_it_opens_the_page_for_a_person_who_says_so(tmp_path):
    pytest.importorskip("nicegui")
    person = Terminal("start", "--bluetooth=false", "--do", "machine", "--folder", str(tmp_path))
    person.wait_for("Open the page now?")
    person.type("y")
    # Its address, or that another page is served there already: either way it was opened from here.
    person.wait_for("8137")
    person.press(b"\x03")
    assert person.end() in (0, 2)


@pytest.mark.needs("pty")
def test_the_keyboard_ends_it(tmp_path):
    person = Terminal("start", "--bluetooth=false", cwd=tmp_path)
    person.wait_for("its number:")
    person.press(b"\x04")
    assert person.end() == 130


def test_without_a_terminal_it_asks_nothing(tmp_path, feltload):
    ran = feltload("start", "--bluetooth=false", "--folder", tmp_path)
    assert ran.code == 0
    assert [line.rstrip(":") for line in ran.out.splitlines() if line.endswith(":")] == [
        "measure a machine",
        "fit a machine to a client",
        "check a machine against its drawing",
    ]
    record = json.loads(feltload("start", "--bluetooth=false", "--folder", tmp_path, "--json").out)
    assert set(record["plans"]) == {"machine", "client", "check"}
    assert list(tmp_path.iterdir()) == []


def test_no_such_folder_is_one_line(tmp_path, feltload):
    feltload("start", "--folder", tmp_path / "gone").one_line_error("gone", "--folder")


def test_the_tab_key_is_taught_the_commands(tmp_path):
    """In a home of its own: what a shell reads at its start, and the list of commands."""
    done = subprocess.run(
        [sys.executable, "-m", "feltload.app", "--install-completion"],
        env={**os.environ, "HOME": str(tmp_path), "SHELL": "/bin/bash"},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    written = [path.read_text() for path in tmp_path.rglob("*") if path.is_file()]
    assert any("doctor" in text and "profile" in text for text in written)
