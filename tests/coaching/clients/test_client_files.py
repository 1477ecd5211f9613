"""Deleting a client: every file that holds the results is named, what was made goes, nothing else does."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from feltload.coaching import ClientFileError, ClientFileFact, ClientFolder, SessionRecord

posix = pytest.mark.skipif(os.name != "posix", reason="links and modes of POSIX")


@pytest.fixture
def folder(tmp_path: Path) -> ClientFolder:
    made = ClientFolder.create(tmp_path / "clients", code="A1")
    made.keep(SessionRecord(date="2031-02-01", kind="capacity", machine="invented", values={"peak_n": 410.0}))
    return made


def left(files) -> dict[str, str]:
    return {Path(str(fact.figures["path"])).name: fact.kind for fact in files.left}


def test_what_was_made_is_removed_here_and_elsewhere(folder, tmp_path):
    elsewhere, inside = tmp_path / "capacity.json", folder.path / "sheet.html"
    elsewhere.write_text("{}")
    inside.write_text("<p>")
    folder = folder.note_file(elsewhere).note_file(inside)
    named = folder.files()
    assert named.left == ()
    assert {path.name for path in named.made} == {
        "capacity.json",
        "sheet.html",
        "2031-02-01-capacity-1.json",
        "client.json",
    }
    assert ClientFolder.open(folder.path).delete() == named
    assert not folder.path.exists() and not elsewhere.exists()


def test_a_file_that_was_cut_off_while_it_was_written_is_named(folder, tmp_path):
    cut, never, replaced = (tmp_path / name for name in ("cut.mcap", "never.mcap", "replaced.mcap"))
    replaced.write_text("whole")
    folder = folder.note_file(replaced)
    for path in (cut, never, replaced):
        folder = folder.announce_file(path)
    cut.write_text("the first half")
    # Beside the one that it was to replace.
    (tmp_path / ".replaced.mcap.0a1b2c3d.part").write_text("half")
    (tmp_path / "replaced.unfinished-2.mcap").write_text("half")
    files = ClientFolder.open(folder.path).files()
    names = ("cut.mcap", "replaced.unfinished-2.mcap")
    assert left(files) == dict.fromkeys(names, ClientFileFact.UNFINISHED)
    assert {"replaced.mcap", ".replaced.mcap.0a1b2c3d.part"} <= {path.name for path in files.made}
    # Whole in the end.
    assert "cut.mcap" not in left(folder.note_file(cut).files())


def test_what_was_not_made_stays_and_is_named(folder, tmp_path):
    mine, source, changed = folder.path / "thoughts.txt", tmp_path / "holds.mcap", tmp_path / "capacity.json"
    for path in (mine, source, changed):
        path.write_text("before")
    (folder.path / "photographs").mkdir()
    folder = folder.note_file(source, made=False).note_file(changed)
    changed.write_text("another client's")
    gone = tmp_path / "sheet.html"
    gone.write_text("x")
    folder = folder.note_file(gone)
    gone.rename(tmp_path / "moved.html")
    files = folder.delete()
    assert left(files) == {
        "thoughts.txt": ClientFileFact.NOT_OURS,
        "photographs": ClientFileFact.NOT_OURS,
        "holds.mcap": ClientFileFact.SOURCE,
        "capacity.json": ClientFileFact.CHANGED,
        "sheet.html": ClientFileFact.GONE,
    }
    assert sorted(path.name for path in folder.path.iterdir()) == ["photographs", "thoughts.txt"]
    assert (source.read_text(), changed.read_text()) == ("before", "another client's")
    assert (tmp_path / "moved.html").exists()


@posix
def test_links_lead_nowhere(folder, tmp_path):
    """A link in place of a kept result, of a noted file, of a folder above one, and of the client's folder itself."""
    precious = tmp_path / "precious"
    precious.mkdir()
    results = tmp_path / "results"
    results.mkdir()
    for name in ("one.json", "two.json"):
        (results / name).write_text("same")
        (precious / name).write_text("same")
        folder = folder.note_file(results / name)
    (results / "one.json").unlink()
    (results / "one.json").symlink_to(precious / "one.json")
    (folder.path / "2031-03-01-capacity-1.json").symlink_to(precious / "two.json")
    linked = tmp_path / "linked"
    linked.symlink_to(folder.path)
    with pytest.raises(ClientFileError, match="is a link, and nothing was deleted"):
        ClientFolder.open(linked).delete()
    assert (folder.path / "client.json").exists()
    # Now a folder above the other noted file is a link too.
    (results / "two.json").rename(tmp_path / "two-before.json")
    (results / "one.json").unlink()
    results.rmdir()
    results.symlink_to(precious)
    files = folder.delete()
    assert left(files) == {
        "one.json": ClientFileFact.LINK,
        "two.json": ClientFileFact.LINK,
        "2031-03-01-capacity-1.json": ClientFileFact.NOT_OURS,
    }
    assert sorted(path.read_text() for path in precious.iterdir()) == ["same", "same"]


def test_a_file_noted_as_made_stays_so_when_results_are_computed_from_it(folder, tmp_path):
    recording = tmp_path / "holds.mcap"
    recording.write_text("x")
    folder = folder.note_file(recording).note_file(recording, made=False)
    assert [file.made for file in folder.record.files] == [True]


def test_what_a_killed_write_left_behind_goes_too(folder):
    parts = [
        folder.path / name
        for name in (".client.json.0a1b2c3d.part", ".2031-02-01-capacity-2.json.0a1b2c3d.part")
    ]
    for part in parts:
        part.write_text("half of it")
    other = folder.path / ".thoughts.txt.0a1b2c3d.part"
    other.write_text("x")
    folder.delete()
    assert [path.name for path in folder.path.iterdir()] == [other.name]


def test_other_json_in_the_folder_is_no_kept_result(folder):
    (folder.path / "capacity.json").write_text(json.dumps({"machine": "x"}))
    assert len(folder.sessions()) == 1
