"""The pages end at one Ctrl-C, one polite kill or a closed window, at whatever moment, and leave nothing behind."""

from __future__ import annotations

import os
import signal
import stat
import time
from collections.abc import Callable
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import pytest

from person_terminal import Terminal

pytest.importorskip("nicegui")
pytestmark = [pytest.mark.needs("pty", "proc"), pytest.mark.timeout(300)]
PATIENCE_S = 100.0
FREE_PORT = ("--port", "0")

# Waited for until it is closed, and deaf to Ctrl-C, as some browsers are.
BROWSER = """#!/bin/sh
trap '' INT
echo $$ > "$0.pid"
exec sleep 60
"""


def until(what: str, true: Callable[[], object]) -> None:
    end_s = time.monotonic() + PATIENCE_S
    while not true():
        assert time.monotonic() < end_s, what
        time.sleep(0.05)


def started_in(folder: Path) -> list[str]:
    """Processes that live on, known by the place that they were given for their sessions."""
    mark = f"FELTLOAD_SESSIONS={folder}".encode()
    found = []
    for each in Path("/proc").iterdir():
        try:
            if each.name.isdigit() and mark in (each / "environ").read_bytes():
                found.append((each / "cmdline").read_bytes().replace(b"\0", b" ").decode())
        except OSError:
            # It ended in the meantime, or is another's.
            continue
    return found


def interrupt(person: Terminal) -> int:
    person.press(b"\x03")
    return person.end()


def terminate(person: Terminal) -> int:
    person.process.send_signal(signal.SIGTERM)
    return person.end()


def close_the_window(person: Terminal) -> int:
    person.hang_up()
    person.process.wait(PATIENCE_S)
    return 0


@pytest.mark.parametrize(("way", "delay_s"), [(interrupt, 0.0), (terminate, 0.4)])
def test_while_an_emulated_rig_starts(tmp_path: Path, way: Callable[[Terminal], int], delay_s: float) -> None:
    person = Terminal(
        "live", "--emulated", *FREE_PORT, "--folder", str(tmp_path), FELTLOAD_SESSIONS=str(tmp_path)
    )
    person.wait_for("Starting an emulated rig")
    time.sleep(delay_s)
    assert way(person) in (0, 130)
    assert "error" not in person.screen
    assert not started_in(tmp_path)


def test_while_a_browser_opens_that_is_waited_for(tmp_path: Path) -> None:
    browser = tmp_path / "browser"
    browser.write_text(BROWSER)
    browser.chmod(stat.S_IRWXU)
    person = Terminal("live", *FREE_PORT, "--folder", str(tmp_path), BROWSER=str(browser))
    said = tmp_path / "browser.pid"
    until("no browser is opened", lambda: said.exists() and said.read_text().strip())
    try:
        assert interrupt(person) == 0
    finally:
        os.kill(int(said.read_text()), signal.SIGKILL)


@pytest.mark.parametrize("way", [interrupt, close_the_window])
def test_while_something_is_shown(tmp_path: Path, recordings: Path, way: Callable[[Terminal], int]) -> None:
    person = Terminal(
        *("live", "--replay", str(recordings / "lever-row-40kg.mcap"), *FREE_PORT, "--no-browser"),
        *("--folder", str(tmp_path)),
        FELTLOAD_SESSIONS=str(tmp_path),
    )
    person.wait_for("Ctrl-C ends")
    # A recorder, an estimator, and the page itself.
    assert len(started_in(tmp_path)) == 3
    address = next(word for word in person.screen.split() if word.startswith("http"))
    with pytest.raises(URLError, match="401"):
        urlopen(address.partition("/open")[0] + "/stream", timeout=PATIENCE_S)
    assert way(person) == 0
    until("a process is left", lambda: not started_in(tmp_path))
    assert not list(tmp_path.glob("*.json"))
