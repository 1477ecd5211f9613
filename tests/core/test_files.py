"""A file is the old one or the whole new one, whatever happens in the middle."""

from __future__ import annotations

import os
import signal
import stat
import subprocess
import sys

import pytest

from feltload.core import replacing, write_file

posix = pytest.mark.skipif(os.name != "posix", reason="modes and signals of POSIX")


def mode(path):
    return stat.S_IMODE(path.stat().st_mode)


def test_text_and_bytes_are_written_as_they_are(tmp_path):
    write_file(tmp_path / "a.txt", "21 °C\r\n")
    write_file(tmp_path / "b.bin", b"\x00\xff")
    assert (tmp_path / "a.txt").read_bytes() == "21 °C\r\n".encode()
    assert (tmp_path / "b.bin").read_bytes() == b"\x00\xff"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.txt", "b.bin"]


@posix
@pytest.mark.parametrize(
    ("umask", "expected"), [(0o022, 0o644), (0o027, 0o640), (0o077, 0o600), (0o002, 0o664)]
)
def test_the_umask_decides_who_may_read(tmp_path, umask, expected):
    before = os.umask(umask)
    try:
        write_file(tmp_path / "a.txt", "x")
    finally:
        os.umask(before)
    assert mode(tmp_path / "a.txt") == expected


@posix
def test_a_private_file_is_private_from_its_first_byte(tmp_path):
    before = os.umask(0)
    try:
        with replacing(tmp_path / "a.txt", private=True) as part:
            assert mode(part) == 0o600
            part.write_text("x")
    finally:
        os.umask(before)
    assert mode(tmp_path / "a.txt") == 0o600


def test_an_error_leaves_the_old_file_and_nothing_else(tmp_path):
    target = tmp_path / "a.txt"
    target.write_text("old")
    with pytest.raises(RuntimeError), replacing(target) as part:
        part.write_text("half of the n")
        raise RuntimeError
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_folder_that_is_missing_is_the_systems_own_error(tmp_path):
    with pytest.raises(FileNotFoundError):
        write_file(tmp_path / "none" / "a.txt", "x")


@posix
def test_a_link_goes_on_leading_to_the_file(tmp_path):
    (tmp_path / "real.txt").write_text("old")
    (tmp_path / "link.txt").symlink_to("real.txt")
    write_file(tmp_path / "link.txt", "new")
    assert (tmp_path / "link.txt").is_symlink()
    assert (tmp_path / "real.txt").read_text() == "new"


@posix
def test_a_program_killed_in_the_middle_leaves_the_old_file_whole(tmp_path):
    target = tmp_path / "a.json"
    target.write_text("old")
    program = (
        "import os, signal, sys\n"
        "from feltload.core import replacing\n"
        "with replacing(sys.argv[1]) as part:\n"
        "    part.write_text('half of the n')\n"
        "    os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    done = subprocess.run([sys.executable, "-c", program, target], check=False, timeout=60)
    assert done.returncode == -signal.SIGKILL
    assert target.read_text() == "old"
    # What it leaves behind is hidden and matches no pattern for finished files.
    assert [path.name for path in tmp_path.glob("*.json")] == ["a.json"]
    left = [path.name for path in tmp_path.iterdir() if path != target]
    assert len(left) == 1
    assert left[0].startswith(".a.json.")
    write_file(target, "new")
    assert target.read_text() == "new"
