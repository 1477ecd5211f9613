"""Both arms on the page, and what goes wrong meanwhile: overload, a lost sensor, a frozen page, a dead server."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from feltload.acquisition import read_recording
from feltload.app.live.recorder.session_file import SessionFile, running_sessions
from feltload.app.text.live import measure, start
from live_pages import DESK, PHONE, LiveServer, Window
from two_arms import TwoArms

pytestmark = [pytest.mark.needs("pty", "chromium", "chromedriver"), pytest.mark.timeout(600)]
CAPACITY_N = 150.0
"""Below what the load asks for: every repetition overloads this cell."""
FROZEN_S = 4.0


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    path = tmp_path_factory.mktemp("two")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FELTLOAD_SESSIONS", str(path / "sessions"))
        yield path
        # A recorder that a failing test leaves would go on, and hold its ports.
        for session in running_sessions():
            with suppress(ProcessLookupError):
                os.kill(SessionFile.read(session).pid, signal.SIGTERM)


@pytest.fixture(scope="module")
def arms(folder: Path) -> Iterator[TwoArms]:
    running = TwoArms(folder, capacity_n=CAPACITY_N)
    yield running
    running.close()


@pytest.fixture(scope="module")
def window() -> Iterator[Window]:
    opened = Window(PHONE)
    yield opened
    opened.close()


def passes(window: Window, arm: int) -> int:
    return int(
        window.js("return document.querySelectorAll('.board')[arguments[0]]?.dataset.passes ?? -1", arm)
    )


def force(window: Window, arm: int) -> str:
    return str(
        window.js("return document.querySelectorAll('.force b')[arguments[0]]?.textContent ?? ''", arm)
    )


def sound(window: Window) -> None:
    assert window.complaints() == []
    assert not window.overflows
    assert window.barriers() == []


def test_two_arms_are_measured_whatever_goes_wrong(folder: Path, arms: TwoArms, window: Window) -> None:
    server = LiveServer(folder, str(arms.rig))
    window.open(server.own)
    window.tap("lever-row")
    window.type_into(start.LOAD, "40 kg")
    window.tap(start.BEGIN)
    window.wait("no two boards", lambda: len(window.all(".arm .board")) == 2)
    assert [one.text for one in window.all(".arm .side")] == ["left arm", "right arm"]
    for size in (DESK, PHONE):
        window.resize(size)
        sound(window)
    # Read from two metres: as large as a hand's width of letters allows beside each other.
    heights = window.js(
        "return [...document.querySelectorAll('.force b')].map((e) => e.getBoundingClientRect().height)"
    )
    assert min(heights) >= 55.0
    for arm in (0, 1):
        window.wait("no pass", lambda arm=arm: passes(window, arm) >= 1 and force(window, arm).strip("–"))

    # The left cell is overloaded by every repetition: the script stops at once and says what to do.
    window.wait(
        "an overload does not stop", lambda: "let the load down now" in window.text(".stopped .headline")
    )
    assert window.all(".stopped .headline[role=alert]")
    window.wait("what to do is not said", lambda: "goes on with less" in window.text(".stopped .headline"))

    # What a lost sensor read last is not shown as what is; it comes back by itself.
    arms.silence("right")
    window.wait("a lost sensor is not said", lambda: "force-right" in window.text(".wrong"))
    window.wait("its last force still stands", lambda: force(window, 1) == "–")
    assert force(window, 0).strip("–")
    arms.resume("right")
    window.wait("it does not come back", lambda: force(window, 1).strip("–"))

    # A page whose computer slept asks for everything anew.
    before = passes(window, 0)
    window.freeze(FROZEN_S)
    window.wait(
        "a page that slept lacks passes", lambda: passes(window, 0) >= before and force(window, 0).strip("–")
    )

    # The server dies; the recorder does not.
    server.kill()
    window.wait("a dead server is not said", lambda: measure.LOST in window.text(".headline"))
    assert force(window, 0) == force(window, 1) == "–"
    server = LiveServer(folder)
    window.open(server.own)
    # The console told of a server that did not answer.
    window.complaints()
    window.wait(
        "it is not offered", lambda: "machine-40-kg.mcap is still being recorded" in window.text(".page")
    )
    window.tap(start.REJOIN)
    window.wait("passes are lost", lambda: passes(window, 0) >= before)
    window.tap(measure.PAIN)
    window.wait("pain does not stop", lambda: "Pain is marked" in window.text(".stopped .headline"))
    sound(window)
    window.tap(measure.END)
    window.tap(measure.END_SURE)
    window.wait("not closed", lambda: measure.OVER in window.text(".headline"))
    kept = read_recording(folder / "machine-40-kg.mcap")
    assert {mark.kind for mark in kept.marks} >= {"tare", "note", "pain"}
    # Of the arm whose sensors always sent, no more is missing than such sensors lose by themselves.
    for health in (kept.health["force-left"], kept.health["inertial-left"]):
        assert health.lost < 0.01 * health.samples
    assert "Traceback" not in server.close()


def test_another_site_drives_nothing(folder: Path, window: Window) -> None:
    """A page of another origin in the same browser, which has the session's cookie."""
    server = LiveServer(folder)
    window.open(server.own)
    window.wait("not open", lambda: window.all(".pick, .part"))
    here = urlsplit(server.base).netloc
    window.complaints()
    window.open("data:text/html,<title>another site</title>")
    refused = window.driver.execute_async_script(
        "const [host, done] = arguments;"
        "const socket = new WebSocket(`ws://${host}/stream`);"
        "socket.onopen = () => done('open'); socket.onerror = () => done('refused');",
        here,
    )
    assert refused == "refused"
    posted = window.driver.execute_async_script(
        "const [host, done] = arguments;"
        "fetch(`http://${host}/join`, {method: 'POST', body: 'code=AAAA'})"
        ".then(() => done('read'), () => done('refused'));",
        here,
    )
    assert posted == "refused"
    server.close()
