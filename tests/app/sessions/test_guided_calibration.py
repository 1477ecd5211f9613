"""The guided calibration as a process: a board on one pty, a person's terminal on another."""

import binascii
import contextlib
import os
import pty
import re
import select
import struct
import subprocess
import sys
import threading
import time
import tty

import numpy as np
import pytest
from cobs import cobs

from feltload.acquisition.certificates.certificate import parse_certificate

pytestmark = [
    pytest.mark.needs("pty"),
    pytest.mark.timeout(300),  # several processes that import everything
]

ZERO, PER_KG, RATE = 12000.0, 8300.0, 80.0
WEIGHTS = "2 kg, 4 kg, 6 kg, 8 kg, 10.000(0.001) kg"


class Board(threading.Thread):
    """Load cell with converter on a pty; what hangs on it swings after every change."""

    def __init__(self):
        super().__init__(daemon=True)
        self.end, host = os.openpty()
        tty.setraw(host)
        os.set_blocking(self.end, False)
        self.host, self.port = host, os.ttyname(host)
        self.kg, self.hung_s, self.running = 0.0, time.monotonic(), True
        self.rng = np.random.default_rng(7)

    def hang(self, kg):
        self.kg, self.hung_s = kg, time.monotonic()

    def run(self):
        began, seq = time.monotonic(), 0
        while self.running:
            since = time.monotonic() - self.hung_s
            swing = 0.01 * PER_KG * self.kg * np.exp(-since / 0.1) * np.sin(2 * np.pi * 3 * since)
            counts = round(ZERO + PER_KG * self.kg + swing + self.rng.normal(0, 4))
            payload = struct.pack("<BHIi", 0x46, seq & 0xFFFF, int(seq * 1e6 / RATE) & 0xFFFFFFFF, counts)
            # crc_hqx with this start value is the catalogue's CRC-16/IBM-3740.
            payload += struct.pack("<H", binascii.crc_hqx(payload, 0xFFFF))
            with contextlib.suppress(BlockingIOError):
                os.write(self.end, cobs.encode(payload) + b"\x00")
            seq += 1
            time.sleep(max(0.0, began + seq / RATE - time.monotonic()))

    def halt(self):
        self.running = False
        self.join()
        os.close(self.end)
        os.close(self.host)


@pytest.fixture
def board():
    board = Board()
    board.start()
    yield board
    board.halt()


class Person:
    """Reads the terminal and does as told: hangs what is asked for, presses Enter; `quirks` by step."""

    def __init__(self, board, arguments, quirks=None):
        self.board, self.quirks = board, quirks or {}
        self.screen, self.when_doubted = "", None
        self.end, terminal = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "feltload.app", *arguments],
            stdin=terminal,
            stdout=terminal,
            stderr=terminal,
            env=os.environ | {"COLUMNS": "150", "TERM": "xterm"},
        )
        os.close(terminal)

    def press(self, key):
        os.write(self.end, key.encode())

    def work(self, limit_s=140.0):
        """Until the command ends; its exit code."""
        end, step = time.monotonic() + limit_s, 0
        while time.monotonic() < end:
            if not select.select([self.end], [], [], 0.2)[0]:
                continue
            try:
                data = os.read(self.end, 65536)
            except OSError:  # the command closed the terminal
                break
            self.screen += data.decode(errors="replace")
            if self.when_doubted is not None and "is the right weight on?" in self._plain()[-400:]:
                self.board.hang(self.when_doubted)
                self.when_doubted = None
                self.press("\n")
            at = re.findall(r"(\d+)/\d+ .*?series \d+[^\n]*?(?:hang ([\d.]+)\S* kg|nothing)", self._plain())
            if at and int(at[-1][0]) > step and "press Enter" in self._plain()[-400:]:
                step = int(at[-1][0])
                self.board.hang(float(at[-1][1] or 0))
                quirk = self.quirks.get(step)
                if quirk is None:
                    self.press("\n")
                else:
                    quirk(self)
        os.close(self.end)
        try:
            return self.process.wait(60)
        finally:
            self.process.kill()

    def _plain(self):
        return re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", self.screen[-3000:])


def rig_file(path, board, extra='rated_capacity_n = 200.0\nserial = "C-1"'):
    path.write_text(
        f'name = "bench"\n[[streams]]\ndescription = "reference-force"\n{extra}\n'
        f'link = {{ type = "serial", port = "{board.port}" }}\n',
        encoding="utf-8",
    )
    return path


def arguments(tmp_path, rig, weights=WEIGHTS):
    return [
        *("calibrate", "force", str(tmp_path / "r.csv"), "--guided", str(rig), "--weights", weights),
        *("--series", "1", "--still", "0.6 s", "--out", str(tmp_path / "cell.json")),
    ]


def test_from_the_first_weight_to_the_certificate_with_a_break(tmp_path, board):
    rig = rig_file(tmp_path / "rig.toml", board)
    leaver = Person(board, arguments(tmp_path, rig), {5: lambda person: person.press("q")})
    assert leaver.work() == 0, leaver.screen
    assert "goes on with" in leaver.screen
    assert not (tmp_path / "cell.json").exists()
    assert len((tmp_path / "r.csv").read_text(encoding="utf-8").splitlines()) == 4 + 4

    def slip(person):
        # The wrong weight first; when it is doubted, the right one.
        person.board.hang(1.0)
        person.press("\n")
        person.when_doubted = 8.0

    person = Person(board, arguments(tmp_path, rig), {5: slip})
    assert person.work() == 0, person.screen
    assert "4 readings are in" in person.screen
    assert "asked for was 8 kg" in person.screen
    certificate = parse_certificate((tmp_path / "cell.json").read_text(encoding="utf-8"))
    assert certificate.serial == "C-1"
    assert certificate.rated_capacity_n == 200.0
    assert len(certificate.readings) == 11
    truth = 6.0 * certificate.gravity_m_s2 * (1 - 1.2 / 8000)
    assert float(certificate.force_n(ZERO + 6 * PER_KG)) == pytest.approx(truth, rel=1e-3)
    assert "Calibration certificate" in (tmp_path / "cell.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("extra", "weights", "wanted"),
    [
        ('rated_capacity_n = 80.0\nserial = "C-1"', WEIGHTS, r"on a cell rated 80 N: do not hang it"),
        ('serial = "C-1"', WEIGHTS, r"rated capacity of the cell is not stated"),
        ("rated_capacity_n = 200.0", WEIGHTS, r"serial number of the load cell is not stated"),
        ('rated_capacity_n = 200.0\nserial = "C-1"', "2 kg, 4 lbx", r"--weights"),
        (
            'rated_capacity_n = 200.0\nserial = "C-1"\nset = { force = { unit = "N", scale = 0.01 } }',
            WEIGHTS,
            r"scales this cell to a force already",
        ),
    ],
)
def test_what_cannot_be_begun_gets_one_line(tmp_path, board, extra, weights, wanted):
    rig = rig_file(tmp_path / "rig.toml", board, extra)
    got = subprocess.run(
        [sys.executable, "-m", "feltload.app", *arguments(tmp_path, rig, weights)],
        capture_output=True,
        text=True,
        timeout=100,
    )
    assert got.returncode == 2
    assert re.search(wanted, got.stderr)
    assert got.stderr.count("\n") == 1
    assert not (tmp_path / "r.csv").exists()


def test_no_terminal(tmp_path, board):
    rig = rig_file(tmp_path / "rig.toml", board)
    got = subprocess.run(
        [sys.executable, "-m", "feltload.app", *arguments(tmp_path, rig), "--json"],
        capture_output=True,
        text=True,
        timeout=100,
        stdin=subprocess.DEVNULL,
    )
    assert got.returncode == 2
    assert "needs a terminal" in got.stderr


def test_a_terminal_that_goes_away_ends_it_and_keeps_the_readings(tmp_path, board):
    rig = rig_file(tmp_path / "rig.toml", board)
    person = Person(board, arguments(tmp_path, rig), {2: lambda person: os.close(person.end)})
    with contextlib.suppress(OSError, ValueError):
        person.work()
    try:
        person.process.wait(30)
    finally:
        person.process.kill()
    assert len((tmp_path / "r.csv").read_text(encoding="utf-8").splitlines()) == 4 + 1
