"""An emulated coach, who only taps what the pages offer, from an empty folder to a client sheet: how long it takes.

    OPENBLAS_NUM_THREADS=1 python benchmarks/bench_coach.py
    OPENBLAS_NUM_THREADS=1 python benchmarks/bench_coach.py --keyboard --pictures pictures

The emulated rig sends over real ptys in real time; the pages are those of `feltload live --emulated` in headless
Chromium, at 390 px, or at 1280 px by keyboard alone. The machine is recorded with two loads, the client's strength by
one round of holds at the positions of the plan, a load is chosen and the sheet made; then a helped set is recorded and
shown beside its plan. Nothing is typed but the client's code. Printed is the time at each step. The rests that a person
needs between maximal holds (two minutes each, as the plan says) are not waited for: the emulated person needs none.
"""

from __future__ import annotations

import argparse
import base64
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests" / "support"))

from feltload.app.text.live import client, documents, measure, result, start
from live_pages import DESK, PHONE, LiveServer, Window

CODE = "K7QW3D"
PASSES = 10
HELD_N, LET_GO_N = 80.0, 40.0
HOLDS = 6
LOADS = ".picks.tight .pick"


class Coach:
    """What an emulated coach does, with a clock."""

    def __init__(self, folder: Path, *, keyboard: bool, pictures: Path | None) -> None:
        self.began_s = time.monotonic()
        self.server = LiveServer(folder, "--emulated")
        self.window = Window(DESK if keyboard else PHONE)
        self.pictures, self.size = pictures, DESK if keyboard else PHONE
        self.press = self.window.key if keyboard else self.window.tap
        self.end_recording = self.window.end_by_keys if keyboard else self.window.end_recording
        self.window.open(self.server.own)

    def step(self, what: str) -> None:
        """Say when a step is done, and keep its words and its picture in both schemes."""
        print(f"{time.monotonic() - self.began_s:7.1f} s  {what}", flush=True)
        if self.pictures is None:
            return
        for scheme in ("dark", "light"):
            features = [{"name": "prefers-color-scheme", "value": scheme}]
            self.window.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
            time.sleep(0.2)
            height = min(4000, int(self.window.js("return document.documentElement.scrollHeight")))
            clip = {"x": 0, "y": 0, "width": self.size[0], "height": height, "scale": 1}
            shown = {"captureBeyondViewport": True, "clip": clip}
            data = self.window.driver.execute_cdp_cmd("Page.captureScreenshot", shown)["data"]
            name = f"{what.replace(' ', '-')}-{self.size[0]}-{scheme}.png"
            (self.pictures / name).write_bytes(base64.b64decode(data))
        words = self.pictures / f"{what.replace(' ', '-')}-{self.size[0]}.txt"
        words.write_text(str(self.window.js("return document.body.innerText")), "utf-8")

    def record(self, what: str) -> None:
        """Start what is chosen, and wait for the page that measures."""
        self.window.wait("not ready", lambda: self.window.button(start.BEGIN).is_enabled())
        self.step(f"{what}, chosen")
        self.press(start.BEGIN)
        self.window.wait("nothing happens", lambda: self._measures() or start.BEGIN_SURE in self._page())
        if not self._measures():
            self.step(f"{what}, what lies ahead")
            self.press(start.BEGIN_SURE)
        self.window.wait("no page to measure", self._measures)

    def repetitions(self) -> None:
        """Wait for enough of them."""
        passes = "return Number(document.querySelector('.board')?.dataset.passes ?? 0)"
        self.window.wait("too few passes", lambda: self.window.js(passes) >= PASSES)

    def holds(self) -> None:
        """Wait for one round."""
        self.step("holds, to be set up")
        self.press(measure.GO_ON)
        for number in range(HOLDS):
            self.window.wait(f"no hold {number}", lambda: self._force_n() > HELD_N)
            if number == 0:
                self.step("holds, one held")
            self.window.wait(f"hold {number} lasts", lambda: self._force_n() < LET_GO_N)

    def hands(self) -> None:
        """Look at the partner's page for a moment."""
        self.press("Hands")
        self.window.wait("nothing is planned", lambda: self.window.text(".hand.planned b").strip("–"))
        self.step("hands, with a plan")
        self.press("Measure")
        self.window.wait("no page to measure", self._measures)

    def end(self, what: str) -> None:
        """End the recording, and wait for its result."""
        self.step(f"{what}, measured")
        self.end_recording(measure.END, measure.RESULT)
        self.press(measure.RESULT)
        self.window.wait("no result", lambda: self.window.all(".answer .headline"))
        self.step(f"{what}, result")

    def _page(self) -> str:
        return self.window.text(".page")

    def _measures(self) -> bool:
        return bool(self.window.all(".board"))

    def _force_n(self) -> float:
        shown = self.window.text(".force b").strip("–−")
        return float(shown) if shown else 0.0

    def close(self) -> None:
        """End browser and server."""
        self.window.close()
        self.server.close()


def whole_way(coach: Coach) -> None:
    """From the empty folder to the sheet, and on to a helped set."""
    window = coach.window
    coach.step("start")
    coach.record("first load")
    coach.repetitions()
    coach.end("first load")
    coach.press(result.ADD_LOAD)
    coach.record("second load")
    coach.repetitions()
    coach.end("second load")
    coach.press(result.HOLDS)
    window.type_into(start.CLIENT, CODE)
    coach.record("holds")
    coach.holds()
    coach.end("holds")
    coach.press(result.FIT)
    window.wait("nothing is put together", lambda: window.all(LOADS))
    coach.step("client, put together")
    coach.press(window.all(LOADS)[1].text.splitlines()[0])
    window.wait("no other load", lambda: window.all(f"{LOADS}:nth-child(2)[aria-pressed=true]"))
    coach.press(client.SHEET)
    window.wait("no sheet", lambda: window.all(".page-head"))
    coach.step("client sheet")
    window.driver.back()
    window.wait("the sheet is forgotten", lambda: documents.OPEN_SHEET in window.text(".answer"))
    coach.step("client, with its sheet")
    window.open(f"{coach.server.base}/result")
    coach.press(result.HELPED)
    coach.record("helped set")
    coach.hands()
    coach.repetitions()
    coach.end("helped set")
    coach.press(result.SHEET)
    window.wait("no sheet", lambda: "What was given" in window.text("main"))
    window.open(f"{coach.server.base}/")
    window.wait("nothing is listed", lambda: "Measured machines" in window.text(".page"))
    coach.step("start, afterwards")


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--keyboard", action="store_true", help="at 1280 px, by keyboard alone")
    parser.add_argument("--pictures", type=Path, help="folder for picture and words of every step")
    parser.add_argument("--folder", type=Path, help="an empty folder to measure in, kept afterwards")
    given = parser.parse_args()
    if given.pictures is not None:
        given.pictures.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        coach = Coach(given.folder or Path(folder), keyboard=given.keyboard, pictures=given.pictures)
        try:
            whole_way(coach)
        finally:
            coach.close()


if __name__ == "__main__":
    main()
