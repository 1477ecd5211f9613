"""The live pages in a real browser: from a sample's arrival to the screen, and what it costs beside the recorder.

    OPENBLAS_NUM_THREADS=1 python benchmarks/bench_pages.py

The emulated rig sends 1000 force and 833 inertial samples a second over real ptys to `feltload live`, which is its own
process. A headless Chromium shows the measure page; three more viewers hang on the same stream. In the page every
frame notes which sample was the newest that was drawn before it: a sample's age on the screen is the time of the first
such frame minus the sample's own. Printed are those ages, frames and drawings a second, processor shares of the server
and the recorder, what is missing in the file, what the viewers lack, the time from the tap that ends to the written
result, the last band while recording beside the final one, and bytes over the wire of a page at first and again.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import numpy as np
from selenium import webdriver
from websockets.exceptions import ConnectionClosed
from websockets.sync.client import connect

from feltload.acquisition import read_recording
from feltload.app.live.recorder.session_file import SessionFile
from feltload.app.sessions.emulated_rig import emulated_rig
from feltload.app.text.live import measure, start
from feltload.signal import load_results

LEAVE_OUT_S = 5.0
"""At the start: the zero is taken, the estimator's worker imports."""
PATIENCE_S = 120.0
WATCH = """
window.seen = []; window.frames = 0; let last = '';
const look = () => {
  const time = document.querySelector('.board')?.dataset.time;
  window.frames += 1;
  if (time && time !== last) {
    last = time;
    window.seen.push([performance.timeOrigin + performance.now(), Number(time)]);
  }
  requestAnimationFrame(look);
};
requestAnimationFrame(look);
"""


class Browser:
    """A headless Chromium."""

    def __init__(self) -> None:
        options = webdriver.ChromeOptions()
        options.binary_location = shutil.which("chromium") or ""
        for word in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking"):
            options.add_argument(word)
        options.set_capability("goog:loggingPrefs", {"performance": "ALL"})
        # Named, since Selenium looks for it on the network otherwise.
        service = webdriver.ChromeService(shutil.which("chromedriver"))
        self.driver = webdriver.Chrome(options=options, service=service)

    def js(self, script: str, *given: Any) -> Any:
        return self.driver.execute_script(script, *given)

    def until(self, script: str, *given: Any) -> None:
        end_s = time.monotonic() + PATIENCE_S
        while not self.js(script, *given):
            if time.monotonic() > end_s:
                raise SystemExit(
                    f"not so in time: {script}; the page says: {self.js('return document.body.innerText')}"
                )
            time.sleep(0.1)

    def tap(self, label: str) -> None:
        find = (
            "[...document.querySelectorAll('button, a')]"
            ".find((b) => b.innerText.includes(arguments[0]) && !b.disabled)"
        )
        self.until(f"return !!{find}", label)
        self.js(f"{find}.click()", label)

    def transferred(self) -> int:
        """Bytes over the wire since it was last asked."""
        messages = [json.loads(entry["message"])["message"] for entry in self.driver.get_log("performance")]
        return sum(
            int(one["params"]["encodedDataLength"])
            for one in messages
            if one["method"] == "Network.loadingFinished"
        )


def processor_s(pid: int) -> float:
    """Processor time of a process so far."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def viewer(address: str, cookie: str, heard: set[int]) -> None:
    """Take note of the passes that a viewer is told of, until the server ends."""
    parts = urlsplit(address)
    with (
        suppress(ConnectionClosed),
        connect(
            f"ws://{parts.netloc}/stream",
            origin=f"{parts.scheme}://{parts.netloc}",
            additional_headers={"Cookie": cookie},
            max_size=None,
        ) as socket,
    ):
        for message in socket:
            for arm in json.loads(message).get("passes", ()):
                heard |= {one["id"] for one in arm["list"]}


def measured(folder: Path, seconds: float) -> None:
    os.environ["FELTLOAD_SESSIONS"] = str(folder / "sessions")
    with ExitStack() as stack:
        rig = stack.enter_context(
            emulated_rig(
                "40 kg", 2, folder, duration_s=seconds, words=("--sensors", "fast", "--linger", "60")
            )
        )
        rig.await_ready()
        server = subprocess.Popen(
            [
                *(sys.executable, "-m", "feltload.app", "live", str(rig.rig_file), "--folder", str(folder)),
                *("--port", "0", "--no-browser", "--json"),
            ],
            stdout=subprocess.PIPE,
            text=True,
        )
        stack.callback(server.wait)
        stack.callback(server.terminate)
        said = ""
        while not said.endswith("}\n"):
            said += server.stdout.readline() if server.stdout is not None else ""
        browser = Browser()
        stack.callback(browser.driver.quit)
        followed(json.loads(said)["address"], browser, server.pid, folder, seconds)


def opened(address: str, browser: Browser) -> list[int]:
    """Begin to record, by taps; bytes of the first page and of the same again."""
    sizes = []
    for each in (address, f"{address.partition('/open')[0]}/"):
        browser.driver.get(each)
        browser.until("return !!document.querySelector('.pick')")
        time.sleep(1.0)
        sizes.append(browser.transferred())
    browser.tap("lever-row")
    browser.js(
        "const box = [...document.querySelectorAll('.field')]"
        ".find((f) => f.querySelector('label').textContent === arguments[0]).querySelector('input');"
        "box.value = '40 kg'; box.dispatchEvent(new Event('input')); box.dispatchEvent(new Event('change'));",
        start.LOAD,
    )
    browser.tap(start.BEGIN)
    browser.until("return !!document.querySelector('.board')?.dataset.time")
    browser.js(WATCH)
    return sizes


def followed(address: str, browser: Browser, pid: int, folder: Path, seconds: float) -> None:
    sizes = opened(address, browser)
    (one,) = (folder / "sessions").glob("*.json")
    recorder = SessionFile.read(one).pid
    cookie = "; ".join(f"{each['name']}={each['value']}" for each in browser.driver.get_cookies())
    heard: list[set[int]] = [set() for _ in range(3)]
    for each in heard:
        threading.Thread(target=viewer, args=(address, cookie, each), daemon=True).start()
    counted = "return [window.frames, Number(document.querySelector('.board').dataset.frames)]"
    began_s, before = time.monotonic(), (processor_s(pid), processor_s(recorder), *browser.js(counted))
    time.sleep(seconds)
    lasted_s = time.monotonic() - began_s
    after = (processor_s(pid), processor_s(recorder), *browser.js(counted))
    server, kept_by, frames, drawn = ((b - a) / lasted_s for a, b in zip(before, after, strict=True))
    print(f"frames a second: {frames:.1f}, drawings a second: {drawn:.1f}")
    print(f"processor: server {server:.2f}, recorder {kept_by:.2f} of a core; load {os.getloadavg()[0]:.1f}")
    online = re.search(
        r"±([0-9.]+) %", browser.js("return document.querySelector('.enough')?.innerText ?? ''")
    )
    browser.tap(measure.END)
    browser.tap(measure.END_SURE)
    ended_s = time.monotonic()
    while not list(folder.glob("*/profile.json")):
        time.sleep(0.02)
    written_s = time.monotonic() - ended_s
    passes = browser.js("return Number(document.querySelector('.board').dataset.passes)")
    (path,) = folder.glob("*.mcap")
    kept = read_recording(path)
    late_ms = 1e3 * ages_s(np.array(browser.js("return window.seen"), dtype=float), kept.origin_ns)
    print(
        f"sample to screen: median {np.median(late_ms):.0f} ms, 95th percentile {np.percentile(late_ms, 95):.0f} ms"
    )
    print(f"samples missing in the file: { {name: health.lost for name, health in kept.health.items()} }")
    print(f"passes on the page {passes}, heard by the other viewers {[len(each) for each in heard]}")
    print(f"result written {written_s:.1f} s after the tap that ends")
    final = load_results(next(folder.glob("*/profile.json")).parent)
    share = float(np.mean(final.static_u95_n)) / float(np.max(final.static_n))
    print(
        f"last band while recording {online[1] if online else 'none'} %, final {100 * share:.2f} % of the peak"
    )
    print(f"bytes over the wire: first page {sizes[0] / 1e3:.0f} kB, again {sizes[1] / 1e3:.0f} kB")


def ages_s(seen: np.ndarray, origin_ns: int) -> np.ndarray:
    """Ages on the screen, one for every millisecond of samples.

    Parameters
    ----------
    seen : ndarray
        Shape (n, 2): time of a frame in ms since 1970, and recorded time of the newest sample drawn before it in s.
    origin_ns : int
        Monotonic host time from which the recording counts.
    """
    shown_s = seen[:, 0] * 1e-3 - (time.time() - time.monotonic()) - origin_ns * 1e-9
    return np.concatenate(
        [
            now - np.arange(before, newest, 1e-3)
            for now, before, newest in zip(shown_s[1:], seen[:-1, 1], seen[1:, 1], strict=True)
            if newest > max(LEAVE_OUT_S, before)
        ]
    )


def main() -> None:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--seconds", type=float, default=40.0, help="length of the emulated person's session")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        measured(Path(folder), given.seconds)


if __name__ == "__main__":
    main()
