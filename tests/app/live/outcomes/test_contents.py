"""What a working folder holds is told by machine and client, and what nothing was made of yet is found."""

from __future__ import annotations

import os
import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from feltload.app.live.outcomes.person import strength_of
from feltload.app.live.recorder.session_file import SessionFile
from feltload.app.live.setup.contents import look_into
from feltload.app.live.setup.folder import WorkingFolder
from feltload.coaching import ClientFolder

MACHINE = "lever-row, emulated (invented)"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, recordings: Path, measured_row: Path) -> WorkingFolder:
    made = tmp_path_factory.mktemp("gym")
    shutil.copytree(measured_row, made / "row")
    for name in ("lever-row-20kg", "lever-row-40kg", "peg-out-20kg", "client-holds", "partner-help-40kg"):
        shutil.copy(recordings / f"{name}.mcap", made)
    (made / "broken.mcap").write_bytes(b"no recording")
    (made / "broken").mkdir()
    (made / "broken" / "profile.json").write_text("{", encoding="utf-8")
    return WorkingFolder(made)


def test_things_are_named_by_machine(folder: WorkingFolder) -> None:
    here = look_into(folder)
    assert [(one.name, one.machine, one.loads) for one in here.machines] == [
        ("row", MACHINE, ("20 kg", "40 kg"))
    ]
    assert {one.name: one.kind for one in here.recordings} == {
        "lever-row-20kg.mcap": "machine",
        "lever-row-40kg.mcap": "machine",
        "peg-out-20kg.mcap": "machine",
        "client-holds.mcap": "holds",
        "partner-help-40kg.mcap": "helped",
    }
    # The shipped profile was made of both loads of the row.
    assert {one.name for one in here.unused} == {"peg-out-20kg.mcap", "client-holds.mcap"}
    assert [one.name for one in here.helped_sets(MACHINE)] == ["partner-help-40kg.mcap"]


def test_a_recording_of_one_arm_goes_by_that_arms_result(folder: WorkingFolder) -> None:
    here = look_into(folder)
    (row,) = here.machines
    left, right = (replace(row, name=f"row-{side}", side=side) for side in ("left", "right"))
    (helped,) = here.helped_sets(MACHINE)
    assert here.result_for(helped) == here.result_for(replace(helped, side="right")) == "row"
    both = replace(here, machines=(right, left))
    assert both.result_for(replace(helped, side="left")) == "row-left"
    assert both.result_for(helped) == ""


def test_what_is_recorded_now_is_not_listed(
    folder: WorkingFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("FELTLOAD_SESSIONS", str(tmp_path))
    running = folder.path / "peg-out-20kg.mcap"
    SessionFile("127.0.0.1", 1, "token", os.getpid(), str(running)).write()
    assert running.name not in {one.name for one in look_into(folder).recordings}


def test_a_capacity_is_its_clients(folder: WorkingFolder) -> None:
    client = ClientFolder.create(folder.path, code="K7QW3D")
    strength_of(folder.path / "client-holds.mcap", client.path)
    here = look_into(folder)
    assert [(one.machine, one.client) for one in here.strengths] == [(MACHINE, "K7QW3D")]
    assert {one.name: one.client for one in here.recordings}["client-holds.mcap"] == "K7QW3D"
    assert "client-holds.mcap" not in {one.name for one in here.unused}
