"""`feltload record --kind holds | helped` on a real terminal with an emulated rig, as the people at it see it."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import threading
import time
from typing import Self

import pytest

from feltload.acquisition import read_recording
from feltload.app.cli import main
from feltload.coaching import ClientFileFact, ClientFolder


class Terminal:
    """A command in a terminal of 100 columns, its screen as a growing text, and its keyboard."""

    def __init__(self, words) -> None:
        import fcntl
        import struct
        import termios

        self.end, inner = os.openpty()
        fcntl.ioctl(inner, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 100, 0, 0))
        self.process = subprocess.Popen(
            [sys.executable, "-m", "feltload.app", *map(str, words)],
            stdin=inner,
            stdout=inner,
            stderr=inner,
            env={**os.environ, "TERM": "xterm"},
        )
        os.close(inner)
        self._seen = ""
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        while True:
            try:
                data = os.read(self.end, 65536)
            except OSError:
                return
            self._seen += data.decode(errors="replace")

    @property
    def screen(self) -> str:
        """What was shown lately as one line, without control sequences."""
        return " ".join(re.sub(r"\x1b\[[0-9;?]*[A-Za-z]|\r|\x07", " ", self._seen[-20_000:]).split())

    def wait_for(self, words: str, *, patience_s: float = 60.0) -> None:
        until = time.monotonic() + patience_s
        while words not in self.screen:
            assert time.monotonic() < until and self.process.poll() is None, (words, self.screen[-2000:])
            time.sleep(0.05)

    def press(self, keys: str) -> None:
        os.write(self.end, keys.encode())

    def leave(self) -> int:
        return self.process.wait(60)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: object) -> None:
        self.process.kill()
        self.process.wait()
        self._reader.join(5)
        os.close(self.end)


@pytest.fixture
def rig(tmp_path):
    """Sends over two real terminal lines; its words for the command."""
    files = tmp_path / "rig.toml", tmp_path / "machine.toml"
    sender = subprocess.Popen(
        [
            *(
                sys.executable,
                "-m",
                "feltload.emulator",
                "--duration",
                "60",
                "--seed",
                "3",
                "--patience",
                "120",
            ),
            *("--write-rig", str(files[0]), "--write-machine", str(files[1])),
        ],
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        json.loads(sender.stdout.readline())
        yield (files[0], "--machine", files[1], "--load", "40 kg", "--tare", "1 s")
    finally:
        sender.terminate()
        sender.communicate(timeout=10.0)


@pytest.mark.needs("pty")
def test_a_session_of_holds_from_the_question_to_pain(tmp_path, rig, measured_row):
    out = tmp_path / "results" / "holds.mcap"
    client = ClientFolder.create(tmp_path, code="A1").path
    words = ("record", *rig, "--kind", "holds", "--result", measured_row, "--client", client, "--out", out)
    with Terminal(words) as terminal:
        terminal.wait_for("Any other key leaves")
        for said in (
            "a partner beside the machine and the stops set",
            "A position that hurts is never held",
            "Warm up now",
        ):
            assert said in terminal.screen
        assert not out.exists()
        terminal.press(" ")
        terminal.wait_for(": fix the arm at 95 % of the travel")
        terminal.press(" ")
        terminal.wait_for("hold as strongly as you can without pain")
        terminal.press("p")
        terminal.wait_for("It is not asked for again")
        terminal.press("nshoulder, front\n\n")
        terminal.wait_for("y ends it")
        terminal.press("y")
        assert terminal.leave() == 0, terminal.screen
    read = read_recording(out)
    assert read.info.kind == "holds" and read.info.rig.invented
    pain, note = (mark for mark in read.marks if mark.kind != "tare")
    assert (pain.kind, note.kind, note.text) == ("pain", "note", "shoulder, front")
    angle_deg = float(pain.text.removesuffix(" deg"))
    assert 10.0 < angle_deg < 40.0
    assert (out.stat().st_mode & 0o777, out.parent.stat().st_mode & 0o777) == (0o600, 0o700)
    assert [file.path for file in ClientFolder.open(client).record.files] == [str(out)]


@pytest.mark.needs("pty")
def test_a_recording_that_is_killed_is_named_when_its_client_is_deleted(tmp_path, rig):
    out, client = tmp_path / "helped.mcap", ClientFolder.create(tmp_path, code="A1").path
    with Terminal(("record", *rig, "--kind", "helped", "--client", client, "--out", out)) as terminal:
        terminal.wait_for("s of rest")
        until = time.monotonic() + 60.0
        while not out.exists() or out.stat().st_size == 0:
            assert time.monotonic() < until
            time.sleep(0.05)
        terminal.process.kill()
        terminal.process.wait()
    (fact,) = ClientFolder.open(client).files().left
    assert fact.kind == ClientFileFact.UNFINISHED and fact.figures["path"] == str(out)


@pytest.mark.needs("pty")
def test_a_session_of_holds_that_is_not_begun_leaves_nothing(tmp_path, rig, measured_row):
    words = ("record", *rig, "--kind", "holds", "--result", measured_row, "--out", tmp_path / "h.mcap")
    with Terminal(words) as terminal:
        terminal.wait_for("Any other key leaves")
        terminal.press("\n")
        assert terminal.leave() == 130
    assert not (tmp_path / "h.mcap").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--kind", "holds"), "holds need a profile of the machine"),
        (("--kind", "helped", "--capacity", "c.json"), "needs both"),
        (("--result", "row"), "belongs to a recording of a person"),
        (("--kind", "holds", "--result", "ROW", "--capacity", "c.json"), "belongs to a helped set"),
        (("--kind", "holds", "--result", "ROW"), "needs a terminal"),
    ],
)
def test_what_does_not_fit_the_kind_is_one_line(tmp_path, capsys, recordings, measured_row, words, said):
    (tmp_path / "rig.toml").write_text('[[streams]]\ndescription = "reference-force"\n', encoding="utf-8")
    named = (measured_row if word == "ROW" else word for word in words)
    common = ("--machine", recordings / "lever-row.toml", "--load", "40 kg", "--out", tmp_path / "a.mcap")
    code = main(["record", *map(str, (tmp_path / "rig.toml", *common, *named))])
    assert code == 2
    errors = [line for line in capsys.readouterr().err.splitlines() if line.startswith("feltload: ")]
    assert len(errors) == 1 and said in errors[0]
    assert not (tmp_path / "a.mcap").exists()
