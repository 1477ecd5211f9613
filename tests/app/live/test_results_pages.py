"""What lies in a folder is gone on with by taps: profile, capacity, match, sheet, help; and nobody watches a person."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from both_arms import both_arms
from feltload.app.text.live import client, documents, going_on, result
from feltload.coaching import capacity_from_json
from feltload.signal import load_results
from live_pages import DESK, PHONE, LiveServer, Window

pytestmark = [pytest.mark.needs("chromium", "chromedriver", "network"), pytest.mark.timeout(900)]

CODE = "K7QW3D"
# The browser here has no list of places to share to: what a page hands over to one is kept, and read back.
SHARING = """
navigator.canShare = (given) => given.files.every((file) => file.type === "text/html");
navigator.share = async (given) => { window.shared = [given.files[0].name, await given.files[0].text()]; };
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, recordings: Path, feltload) -> Path:
    """Recordings as they are left when a computer stops before anything was made of them."""
    made = tmp_path_factory.mktemp("gym")
    for name in ("lever-row-20kg", "lever-row-40kg", "client-holds", "partner-help-40kg"):
        shutil.copy(recordings / f"{name}.mcap", made)
    assert feltload("client", "new", made, "--code", CODE).code == 0
    return made


@pytest.fixture(scope="module")
def server(folder: Path) -> Iterator[LiveServer]:
    running = LiveServer(folder)
    yield running
    assert "Traceback" not in running.close()


@pytest.fixture(scope="module")
def coach(server: LiveServer) -> Iterator[Window]:
    window = Window(PHONE)
    window.driver.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": SHARING})
    window.open(server.own)
    yield window
    window.close()


def sound(window: Window) -> None:
    """In both sizes and both schemes nothing overflows and nobody is shut out; nothing is complained of."""
    for size in (DESK, PHONE):
        window.resize(size)
        for scheme in ("dark", "light"):
            features = [{"name": "prefers-color-scheme", "value": scheme}]
            window.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
            assert not window.overflows
            assert window.barriers() == []
    assert window.complaints() == []


def test_recordings_that_are_there_become_a_profile(coach: Window, folder: Path) -> None:
    coach.wait("recordings are not listed", lambda: going_on.UNUSED in coach.text(".page"))
    sound(coach)
    coach.tap(going_on.MAKE["machine"])
    coach.wait("no profile", lambda: coach.all(".answer .headline"))
    sound(coach)
    (made,) = [path.parent for path in folder.glob("*/profile.json")]
    assert load_results(made).loads_kg.tolist() == [20.0, 40.0]
    assert "heaviest at 23" in coach.text(".answer .headline")
    # The numbers of the curve, for whoever cannot see it.
    coach.tap(result.NUMBERS)
    coach.wait("no numbers", lambda: "raising, N" in coach.text("figure table"))
    sound(coach)
    # One tap further.
    coach.tap(documents.OPEN_REPORT)
    coach.wait("no report", lambda: coach.all(".page-head"))
    coach.driver.back()
    coach.tap(documents.SHARE)
    name, text = coach.wait("not shared", lambda: coach.js("return window.shared"))
    assert name == f"{made.name}.html"
    assert text == (made / "report.html").read_text(encoding="utf-8")


def test_both_arms_are_shown_beside_each_other(
    coach: Window, server: LiveServer, folder: Path, recordings: Path
) -> None:
    both_arms(recordings / "lever-row-40kg.mcap", recordings / "peg-out-40kg.mcap", folder / "both.mcap")
    coach.open(f"{server.base}/")
    coach.tap(going_on.MAKE["machine"])
    coach.wait(
        "no difference", lambda: "the right arm of the machine is the heavier one" in coach.text(".answer")
    )
    assert [one.text.split("\n")[0] for one in coach.all(".keys > div")] == [
        "Heaviest, left arm",
        "Heaviest, right arm",
        "Difference, mean",
    ]
    assert coach.text("section[aria-label='right arm'] p").startswith("With 40")
    sound(coach)
    coach.tap(documents.OPEN_REPORT)
    coach.wait("no report", lambda: "left arm" in coach.text(".page-head"))
    # The folder is as it was, for what comes after.
    (folder / "both.mcap").unlink()
    for made in folder.glob("*/profile.json"):
        if made.parent.name.endswith(("-left", "-right")):
            shutil.rmtree(made.parent)


def test_holds_become_a_capacity(coach: Window, server: LiveServer, folder: Path) -> None:
    coach.open(f"{server.base}/")
    coach.tap(going_on.MAKE["holds"])
    coach.wait("no capacity", lambda: "has most" in coach.text(".answer .headline"))
    sound(coach)
    curve, machine = capacity_from_json(folder / "client-holds-capacity.json")
    most = f"{curve.force_n[curve.strongest]:.0f}"
    assert most in coach.text(".answer .headline").replace("\N{NO-BREAK SPACE}", " ")
    assert machine in coach.text(".answer")


def test_a_sheet_is_made_by_keyboard_and_is_the_commands(
    coach: Window, server: LiveServer, folder: Path, tmp_path: Path, feltload
) -> None:
    coach.resize(DESK)
    coach.open(f"{server.base}/client")
    coach.wait("nothing is put together", lambda: "hardest for you" in coach.text(".answer .headline"))
    sound(coach)
    coach.resize(DESK)
    # Loads to choose from: the measured ones, and predicted ones below what asks for 80 %.
    loads = [one.text.splitlines()[0] for one in coach.all(".picks.tight .pick")]
    assert loads[0] == "20 kg" and len(loads) == 5
    lighter = loads[1]
    coach.key(lighter)
    coach.wait("the load is not taken", lambda: lighter in coach.text(".kicker"))
    coach.key(client.SHEET)
    coach.wait("no sheet", lambda: coach.all(".page-head"))
    (sheet,) = folder.glob("sheet-*.html")
    ran = feltload(
        *(
            "client",
            "sheet",
            next(folder.glob("*/profile.json")).parent,
            folder / "client-holds-capacity.json",
        ),
        *("--load", lighter, "--out", tmp_path / "sheet.html"),
    )
    assert ran.code == 0, ran.err
    assert sheet.read_text(encoding="utf-8") == (tmp_path / "sheet.html").read_text(encoding="utf-8")
    assert sheet.stat().st_mode & 0o077 == 0
    coach.open(f"{server.base}/client")
    coach.wait("the sheet is forgotten", lambda: documents.OPEN_SHEET in coach.text(".answer"))
    coach.resize(PHONE)


def test_help_is_shown_beside_its_plan(coach: Window, server: LiveServer) -> None:
    coach.open(f"{server.base}/")
    coach.tap(going_on.SETS_AND_SHEETS)
    coach.tap(going_on.MAKE["helped"])
    coach.wait("no verdict", lambda: "not as planned" in coach.text(".answer .headline"))
    # The emulated partner gives 60 N from the middle of the travel on.
    figures = [int(one.text.split()[0]) for one in coach.all(".keys b")]
    assert figures == pytest.approx([60, 60], abs=4)
    sound(coach)
    coach.tap(result.SHEET)
    coach.wait("the sheet does not show it", lambda: "What was given" in coach.text("main"))
