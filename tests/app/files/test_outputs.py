"""What is being written is claimed; where nothing can be written, that is said and nothing is left."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from feltload.acquisition import RecordingWriter, read_recording
from feltload.app.cli import main
from feltload.app.errors import OutputExistsError, UsageError
from feltload.app.files.outputs import claim_directory, claimed_file, no_empty_directories
from full_disk import files_limited_to

posix = pytest.mark.skipif(os.name != "posix", reason="limits of POSIX")

HOLDER = """
import sys
from pathlib import Path
from feltload.app.files.outputs import claim_directory, claimed_file, no_empty_directories
with claimed_file(Path(sys.argv[1]), overwrite=True):
    print("claimed", flush=True)
    sys.stdin.read()
"""


@pytest.fixture
def force_csv(tmp_path: Path) -> Path:
    path = tmp_path / "f.csv"
    rows = "\n".join(f"{0.01 * k:.2f},{k % 7}.5" for k in range(400))
    path.write_text(f"time_s,force_n\n{rows}\n")
    return path


@pytest.mark.parametrize("words", [(), ("--force-overwrite",)])
def test_what_another_process_writes_is_refused_until_it_ends(tmp_path, force_csv, capsys, words):
    out = tmp_path / "a.mcap"
    command = ["import", "--force", str(force_csv), "--out", str(out), *words]
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(out)], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    try:
        assert holder.stdout.readline() == b"claimed\n"
        assert main(command) == 2
        error = capsys.readouterr().err
        assert f"{out}: another command is writing it now; choose another --out" in error
        assert len(error.splitlines()) == 1
    finally:
        # However it ends, its claim ends with it.
        holder.kill()
        holder.communicate()
    assert main(command) == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.mcap", "f.csv"]


def test_by_another_name_it_is_the_same_file(tmp_path):
    (tmp_path / "link").symlink_to(tmp_path)
    with (
        claimed_file(tmp_path / "a.mcap", overwrite=True),
        pytest.raises(UsageError, match="another command is writing it now"),
        claimed_file(tmp_path / "link" / "a.mcap", overwrite=True),
    ):
        pass
    assert [path.name for path in tmp_path.iterdir()] == ["link"]


def test_what_was_there_is_refused_and_no_claim_is_left(tmp_path):
    (tmp_path / "a.mcap").write_text("mine")
    with pytest.raises(OutputExistsError), claimed_file(tmp_path / "a.mcap", overwrite=False):
        pass
    assert [path.name for path in tmp_path.iterdir()] == ["a.mcap"]


@posix
@pytest.mark.parametrize("limit", [0, 200, 3000])
def test_where_nothing_can_be_written_that_is_said_and_nothing_is_left(tmp_path, force_csv, capsys, limit):
    """A limit of the file size is met like a full disk: at the first byte, in the head, in the samples."""
    with files_limited_to(limit):
        code = main(["import", "--force", str(force_csv), "--out", str(tmp_path / "a.mcap")])
    assert code == 2
    error = capsys.readouterr().err
    assert "the recording cannot be written (File too large); make room on the disk" in error
    assert len(error.splitlines()) == 1
    assert [path.name for path in tmp_path.iterdir()] == ["f.csv"]


@posix
@pytest.mark.parametrize("limit", [0, 200])
def test_a_recording_that_cannot_begin_leaves_no_file(tmp_path, recordings, limit):
    info = read_recording(recordings / "lever-row-40kg.mcap").info
    with files_limited_to(limit), pytest.raises(OSError, match="File too large"):
        RecordingWriter(tmp_path / "a.mcap", info)
    assert [*tmp_path.iterdir()] == []


@posix
def test_any_other_command_says_it_too(tmp_path, recordings, capsys):
    with files_limited_to(100):
        words = ["calibrate", "force", str(recordings / "cell-readings.csv")]
        assert main([*words, "--out", str(tmp_path / "cell.json")]) == 2
    error = capsys.readouterr().err.splitlines()
    assert error[-1] == "feltload: nothing more can be written (File too large); make room, then run it again"
    assert [*tmp_path.iterdir()] == []


FAILING = {
    "profile": ("profile", "bad.mcap", "--out", "deep/new"),
    "profile-of-arms": ("profile", "both.mcap", "bad.mcap", "--out", "deep/new"),
    "predict": ("predict", "bad.toml", "--load", "40 kg", "--out", "deep/new"),
    "predict-several": ("predict", "bad.toml", "good.toml", "--load", "40 kg", "--out", "deep/new"),
    "design": ("design", "good.toml", "--target", "bad.csv", "--move", "plates.radius=250:300", "--out", "deep/new"),
    "draw": ("draw", "bad.toml", "--out", "deep/new"),
    "study": ("study", "bad.toml", "--out", "deep/new"),
    "study-of-recordings": ("study", "study.toml", "--out", "deep/new"),
    "batch": ("batch", "bad.toml", "--out", "deep/new"),
    "export": ("export", "bad.mcap", "--out", "deep/new"),
    "remake": ("remake", "result", "--recordings", ".", "--out", "deep/new"),
    "calibrate": ("calibrate", "force", "bad.csv", "--out", "deep/new/cell.json"),
    "compare": ("compare", "result", "result", "--out", "deep/new/page.html"),
    "survey": ("survey", "bad.toml", "--load", "40 kg", "--page", "deep/new/page.html"),
    "import": ("import", "--force", "bad.csv", "--out", "deep/new/a.mcap"),
}  # fmt: skip
"""Each fails after it has claimed, or before, a directory that is not there yet."""


@pytest.mark.parametrize("case", FAILING)
def test_a_command_that_fails_leaves_no_empty_directory(case, tmp_path, recordings, monkeypatch, capsys):
    from feltload.calibration import example_text

    for name in ("bad.mcap", "bad.toml", "bad.csv"):
        (tmp_path / name).write_text("none of this")
    (tmp_path / "both.mcap").write_bytes((recordings / "lever-row-40kg.mcap").read_bytes())
    (tmp_path / "good.toml").write_text(example_text("lever"), encoding="utf-8")
    (tmp_path / "study.toml").write_text('name = "s"\nfiles = "bad.mcap"\n', encoding="utf-8")
    (tmp_path / "result").mkdir()
    monkeypatch.chdir(tmp_path)
    assert main(list(FAILING[case])) == 2
    assert len(capsys.readouterr().err.splitlines()) == 1
    assert not Path("deep").exists()


def test_a_directory_with_something_in_it_is_kept(tmp_path):
    with pytest.raises(UsageError), no_empty_directories():
        claim_directory(tmp_path / "a" / "b", (), overwrite=False)
        (tmp_path / "a" / "kept").write_text("mine")
        raise UsageError("fails", where="here", remedy="do not")
    assert [path.name for path in (tmp_path / "a").iterdir()] == ["kept"]
