"""The command as a person runs it: a process of its own, with its two outputs and its exit code."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from feltload.emulator.radio.private_bus import PrivateBus
from needs import require, required_program

RECORDINGS = Path(__file__).parents[2] / "recordings"


@dataclass(frozen=True)
class Ran:
    code: int
    out: str
    err: str

    def one_line_error(self, *words: str) -> str:
        """The only line on standard error, which names all of `words`; nothing else may be there."""
        assert self.code == 2, (self.code, self.out, self.err)
        lines = self.err.strip().splitlines()
        assert len(lines) == 1, self.err
        assert "Traceback" not in self.err
        assert "internal error" not in self.err
        for word in words:
            assert word in lines[0], (word, lines[0])
        return lines[0]


Run = Callable[..., Ran]


@pytest.fixture(scope="session")
def feltload() -> Run:
    def run(*words: str | Path, timeout_s: float = 60.0, cwd: Path | None = None) -> Ran:
        done = subprocess.run(
            [sys.executable, "-m", "feltload.app", *map(str, words)],
            capture_output=True,
            text=True,
            timeout=timeout_s,
            cwd=cwd,
            stdin=subprocess.DEVNULL,
            check=False,
        )
        return Ran(done.returncode, done.stdout, done.stderr)

    return run


@dataclass(frozen=True)
class Chromium:
    """A headless browser, called once for each thing."""

    program: str

    def run(self, scratch: Path, *words: str) -> str:
        """What it prints when called with `words`."""
        flags = (
            *("--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars"),
            "--disable-background-networking",
        )
        done = subprocess.run(
            [self.program, *flags, f"--user-data-dir={scratch / 'browser'}", *words],
            capture_output=True,
            text=True,
            timeout=60,
            check=True,
        )
        return done.stdout

    def printed_pages(self, page: Path, scratch: Path) -> int:
        """How many sheets of paper the page takes."""
        printed = scratch / "printed.pdf"
        self.run(scratch, "--no-pdf-header-footer", f"--print-to-pdf={printed}", page.as_uri())
        content = printed.read_bytes()
        assert content.startswith(b"%PDF")
        return content.count(b"/Type /Page\n") + content.count(b"/Type /Page/")


@pytest.fixture(scope="session")
def chromium() -> Chromium:
    """The browser that looks at pages."""
    return Chromium(required_program("chromium"))


@pytest.fixture(scope="session")
def recordings() -> Path:
    return RECORDINGS


@pytest.fixture(scope="session")
def measured_row(feltload: Run, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Profile of the shipped rowing lever from two loads; to be read only."""
    out = tmp_path_factory.mktemp("measured") / "row"
    done = feltload("profile", *(RECORDINGS / f"lever-row-{load}kg.mcap" for load in (20, 40)), "--out", out)
    assert done.code == 0, done.err
    return out


@pytest.fixture
def bluetooth(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[PrivateBus]:
    """A private bus with the emulated service, which bleak uses as the system's."""
    require("dbus-daemon")
    bus = PrivateBus(tmp_path)
    bus.start_daemon()
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", bus.address)
    bus.start_service()
    yield bus
    bus.kill_service()
    bus.kill_daemon()
