"""A machine is measured by taps on the pages, from the emulated rig over real serial links; another device watches."""

from __future__ import annotations

import math
from collections.abc import Iterator
from urllib.parse import urlsplit

import pytest

from feltload.acquisition import read_recording
from feltload.app.text.live import describing, documents, hands, joining, measure, result, start
from feltload.calibration import ParameterKey, load_machine
from feltload.coaching import FEWEST_POSITIONS, ClientFolder, capacity_from_json
from feltload.signal import load_results, profile_summary
from live_pages import DESK, PHONE, LiveServer, Window

pytestmark = [pytest.mark.needs("pty", "chromium", "chromedriver", "network"), pytest.mark.timeout(900)]


CODE = "K7QW3D"


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LiveServer]:
    running = LiveServer(tmp_path_factory.mktemp("bench"), "--emulated", "--share")
    yield running
    assert "Traceback" not in running.close()


@pytest.fixture(scope="module")
def coach(server: LiveServer) -> Iterator[Window]:
    """Who controls: a phone, let in by the key."""
    window = Window(PHONE)
    window.open(server.own)
    yield window
    window.close()


@pytest.fixture(scope="module")
def viewer(server: LiveServer) -> Iterator[Window]:
    """Who watches: a large screen, with the link of the square code."""
    window = Window(DESK)
    window.open(server.watch)
    yield window
    window.close()


def sound(window: Window, server: LiveServer) -> None:
    """The page is complete, stays on this computer, fits its width and shuts nobody out."""
    assert window.complaints() == []
    assert window.requested() <= {urlsplit(address).netloc for address in (server.own, server.watch)}
    assert not window.overflows
    assert window.barriers() == []


def force_n(window: Window) -> float:
    """The force that is shown; NaN while there is none, as when a busy computer's sensor was lost for a moment."""
    shown = window.text(".force b").strip("–−")
    return float(shown) if shown else math.nan


def passes(window: Window) -> int:
    return int(window.js("return document.querySelector('.board')?.dataset.passes ?? 0"))


def test_a_machine_is_described_with_its_drawing(coach: Window, server: LiveServer) -> None:
    coach.open(f"{server.base}/machine")
    for kind in ("sled", "lever"):
        coach.tap(kind)
        coach.wait("not chosen", lambda kind=kind: kind in coach.text("[aria-pressed=true]"))
    coach.type_into("What do you call this machine?", "Row <b>by</b> the window")
    coach.type_into("How far is the handle from the hinge or axle?", "655 parsec")
    assert "parsec" in coach.wait("no complaint", lambda: coach.text(".field .trouble"))
    before = coach.js("return document.querySelector('.stays canvas').toDataURL()")
    coach.type_into("How far is the handle from the hinge or axle?", "900(2) mm")
    coach.type_into("How steep is the line from hinge to handle, on the start stop?", "10(0.3) deg")
    coach.wait(
        "the drawing does not follow",
        lambda: coach.js("return document.querySelector('.stays canvas').toDataURL()") != before,
    )
    sound(coach, server)
    coach.tap(describing.SAVE)
    coach.wait("not saved", lambda: "row-b-by-b-the-window.toml" in coach.text("[role=status]:not(:empty)"))
    written = load_machine(server.folder / "row-b-by-b-the-window.toml")
    assert written.parameter(ParameterKey("handle_radius")).value == pytest.approx(0.9)
    coach.open(f"{server.base}/")
    # What is typed is shown as it is: it never becomes a part of the page.
    coach.wait("not listed", lambda: "Row <b>by</b> the window" in coach.text(".picks"))
    coach.resize(DESK)
    sound(coach, server)
    coach.resize(PHONE)


def test_a_machine_is_measured(coach: Window, viewer: Window, server: LiveServer) -> None:
    coach.open(f"{server.base}/")
    coach.tap("emulated")
    coach.type_into(start.LOAD, "")
    coach.wait("a load is not asked for", lambda: "the load" in coach.text("[aria-live=polite]"))
    coach.type_into(start.LOAD, "40 kg")
    # By keyboard alone.
    coach.button(start.BEGIN).send_keys("\n")
    coach.wait("no page to measure", lambda: coach.all(".board"))
    coach.wait("no force is shown", lambda: coach.text(".force b").strip("–"))
    coach.wait("no pass is drawn", lambda: passes(coach) >= 2)
    sound(coach, server)

    # A reload in the middle, and a page that was away, have everything that there was.
    before = passes(coach)
    coach.driver.refresh()
    coach.wait("passes are lost by a reload", lambda: passes(coach) >= before)

    # Who watches sees the same and can tap nothing; the code gives control, a wrong one does not.
    assert start.WATCH_ONLY in viewer.text(".page")
    viewer.tap("Measure")
    viewer.wait("too few passes", lambda: passes(viewer) >= 7)
    assert passes(viewer) <= passes(coach) + 1
    assert viewer.all(".bar button") == []
    sound(viewer, server)
    viewer.tap("take part")
    viewer.driver.find_element("id", "code").send_keys("AAAA AAAA\n")
    viewer.wait("a wrong code is taken", lambda: joining.WRONG_CODE in viewer.text("[role=alert]"))
    assert viewer.barriers() == []
    # The console says that the wrong one was refused.
    assert all("403" in said for said in viewer.complaints())
    viewer.driver.find_element("id", "code").send_keys(f"{server.code}\n")
    viewer.wait("the code is refused", lambda: viewer.all(".pick"))

    coach.end_recording(measure.END, measure.RESULT)
    coach.tap(measure.RESULT)
    coach.wait("no result", lambda: coach.all(".answer .headline"))
    sound(coach, server)
    (recording,) = server.folder.glob("*.mcap")
    assert read_recording(recording).info.load_kg == pytest.approx(40.0)
    (found,) = [path.parent for path in server.folder.glob("*/profile.json")]
    assert profile_summary(load_results(found))["peak"]["force_n"] > 100.0
    assert found.name in coach.text(".page")
    coach.tap(documents.OPEN_REPORT)
    coach.wait("no report", lambda: coach.all(".page-head"))
    assert coach.complaints() == []
    assert not coach.overflows


def test_from_there_to_a_client_sheet(coach: Window, server: LiveServer) -> None:
    """Nothing is typed but the client's code."""
    coach.open(f"{server.base}/result")
    coach.tap(result.HOLDS)
    coach.type_into(start.CLIENT, CODE)
    coach.tap(start.BEGIN)
    coach.wait("nothing is said before maximal holds", lambda: start.READY_FOR_HOLDS in coach.text(".page"))
    sound(coach, server)
    coach.tap(start.BEGIN_SURE)
    coach.tap(measure.GO_ON)
    for number in range(FEWEST_POSITIONS):
        coach.wait(f"hold {number} does not begin", lambda: force_n(coach) > 80.0)
        coach.wait(f"hold {number} does not end", lambda: force_n(coach) < 40.0)
    coach.end_recording(measure.END, measure.RESULT)
    coach.tap(measure.RESULT)
    coach.wait("no capacity", lambda: "has most" in coach.text(".answer .headline"))
    sound(coach, server)
    (capacity,) = server.folder.glob("*-capacity.json")
    curve, machine = capacity_from_json(capacity)
    assert curve.invented
    assert [record.machine for record in ClientFolder.open(server.folder / CODE).sessions()] == [machine]

    coach.tap(result.SHEET)
    coach.wait("no sheet", lambda: coach.all(".page-head"))
    assert f"client {CODE}" in coach.text(".kicker")
    assert coach.complaints() == []
    assert not coach.overflows
    assert CODE.lower() in next(server.folder.glob("sheet-*.html")).name


def test_pain_in_a_helped_set_stops_the_script_at_once(coach: Window, server: LiveServer) -> None:
    coach.open(f"{server.base}/result")
    coach.tap(result.HELPED)
    coach.tap(start.BEGIN)
    coach.wait("no page to measure", lambda: coach.all(".board"))
    coach.wait(
        "nothing is asked for",
        lambda: "epeat" in coach.text(".headline") or "epetition" in coach.text(".headline"),
    )
    # Pain, and help, have a place once the arm has turned.
    coach.wait("no pass is drawn", lambda: passes(coach) >= 2)
    coach.tap(hands.HEADING)
    for which in ("planned", "given"):
        coach.wait(f"nothing is {which}", lambda which=which: coach.text(f".hand.{which} b").strip("–−"))
    assert "to feel" in coach.text(".page") and "% of capacity" in coach.text(".page")
    sound(coach, server)
    coach.tap(measure.HEADING)
    coach.wait("no page to measure", lambda: coach.all(".board"))
    coach.tap(measure.PAIN)
    coach.wait("pain does not stop the script", lambda: "Pain is marked" in coach.text(".stopped .headline"))
    assert "clinician" in coach.text(".headline")
    coach.wait(
        "something else is offered",
        lambda: [one.text for one in coach.all(".bar button")] == [measure.PAIN, measure.END],
    )
    sound(coach, server)
    coach.end_recording(measure.END, measure.RESULT)
    coach.wait("not closed", lambda: measure.OVER in coach.text(".headline"))
    kinds = {mark.kind for path in server.folder.glob("*-helped.mcap") for mark in read_recording(path).marks}
    assert "pain" in kinds
    # It is kept for the client, whatever else becomes of the recording.
    coach.tap(measure.RESULT)
    coach.wait("the pain is not carried on", lambda: result.PAIN in coach.text(".page"))
    assert ClientFolder.open(server.folder / CODE).record.painful
    sound(coach, server)
