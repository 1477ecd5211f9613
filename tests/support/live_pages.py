"""`feltload live` as a process of its own, and windows of a headless browser that look at it."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from importlib.resources import files
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from selenium.webdriver.common.keys import Keys

from needs import required_program

PATIENCE_S = 120.0
MOST_TABS = 120
PHONE, DESK = (390, 844), (1280, 800)


class LiveServer:
    """The command, until it is closed."""

    def __init__(self, folder: Path, *words: str) -> None:
        self.folder = folder
        self._process = subprocess.Popen(
            [
                *(sys.executable, "-m", "feltload.app", "live", "--folder", str(folder)),
                *("--port", "0", "--no-browser", "--json", *words),
            ],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env={**os.environ, "FELTLOAD_STATE": str(folder.parent / "state")},
        )
        assert self._process.stdout is not None
        lines = []
        while (line := self._process.stdout.readline()) and line != "}\n":
            lines.append(line)
        assert line, self._process.communicate()[1]
        said = json.loads("".join([*lines, line]))
        self.own: str = said["address"]
        self.watch: str = said["watch"]
        self.code: str = said["code"]
        self.base = "{0.scheme}://{0.netloc}".format(urlsplit(self.own))

    def close(self) -> str:
        """End it as Ctrl-C does; what it said on standard error."""
        self._process.send_signal(signal.SIGINT)
        try:
            return self._process.communicate(timeout=PATIENCE_S)[1]
        except subprocess.TimeoutExpired:
            self._process.kill()
            raise

    def kill(self) -> None:
        """Its process is gone at once."""
        self._process.kill()
        self._process.communicate()


class Window:
    """A browser of its own: its cookies, its console, its requests."""

    def __init__(self, size: tuple[int, int]) -> None:
        from selenium import webdriver

        options = webdriver.ChromeOptions()
        options.binary_location = required_program("chromium")
        for word in ("--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking"):
            options.add_argument(word)
        # On the network the pages come with a certificate that nobody signed; a person goes past the warning.
        options.accept_insecure_certs = True
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
        self.driver = webdriver.Chrome(
            options=options, service=webdriver.ChromeService(required_program("chromedriver"))
        )
        self.resize(size)

    def resize(self, size: tuple[int, int]) -> None:
        self.driver.execute_cdp_cmd(
            "Emulation.setDeviceMetricsOverride",
            {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": size[0] < 600},
        )

    def open(self, address: str) -> None:
        self.driver.get(address)

    def freeze(self, seconds: float) -> None:
        """Stop the page, as a phone in a pocket does, and bring it back."""
        page = self.driver.current_window_handle
        self.driver.execute_cdp_cmd("Page.setWebLifecycleState", {"state": "frozen"})
        time.sleep(seconds)
        self.driver.execute_cdp_cmd("Page.setWebLifecycleState", {"state": "active"})
        # It stays hidden until it comes to the front again.
        self.driver.switch_to.new_window("tab")
        self.driver.close()
        self.driver.switch_to.window(page)

    def js(self, script: str, *given: Any) -> Any:
        return self.driver.execute_script(script, *given)

    def all(self, selector: str) -> Sequence[Any]:
        return [
            found for found in self.driver.find_elements("css selector", selector) if found.is_displayed()
        ]

    def text(self, selector: str) -> str:
        found = self.all(selector)
        return found[0].text if found else ""

    def wait(self, what: str, true: Callable[[], Any]) -> Any:
        """Wait until something is so; elements that were just drawn anew, or hidden, are looked at again."""
        from selenium.common.exceptions import (
            ElementClickInterceptedException,
            ElementNotInteractableException,
            StaleElementReferenceException,
        )

        moved = (
            ElementClickInterceptedException,
            ElementNotInteractableException,
            StaleElementReferenceException,
        )
        until_s = time.monotonic() + PATIENCE_S
        while time.monotonic() < until_s:
            try:
                if found := true():
                    return found
            except moved:
                pass
            time.sleep(0.1)
        raise AssertionError(f"{what}; the page says: {self.text('body')[:700]}")

    def button(self, label: str) -> Any:
        """A button or link that can be tapped, once it is offered."""

        def offered() -> Any:
            offers = self.all(":is(button, a, summary):not([inert] *)")
            found = [one for one in offers if label in one.text and one.is_enabled()]
            return found[0] if found else None

        return self.wait(f"nothing to tap: {label}", offered)

    def tap(self, label: str) -> None:
        def tapped() -> bool:
            element = self.button(label)
            # The bar at the bottom covers what is scrolled to the edge.
            self.js("arguments[0].scrollIntoView({block: 'center'})", element)
            element.click()
            return True

        self.wait(f"cannot be tapped: {label}", tapped)

    def end_recording(self, end: str, over: str) -> None:
        """Tap the button to end, which asks for a second tap within seconds, until what comes after it is offered."""

        def ended() -> bool:
            buttons = self.all(".bar button")
            if any(over in one.text for one in buttons):
                return True
            for one in buttons:
                if one.text.startswith(end):
                    one.click()
            return False

        self.wait("the recording does not end", ended)

    def key(self, label: str) -> None:
        """Move on with the Tab key until what has the focus says `label`, then Enter."""
        from selenium.webdriver import ActionChains

        self.button(label)
        for _ in range(MOST_TABS):
            # Sent to the page: what had the focus may be hidden by now.
            ActionChains(self.driver).send_keys(Keys.TAB).perform()
            focus = self.driver.switch_to.active_element
            if focus.tag_name in ("button", "a", "summary") and label in focus.text:
                ActionChains(self.driver).send_keys(Keys.ENTER).perform()
                return
        raise AssertionError(f"the keyboard does not get to: {label}")

    def end_by_keys(self, end: str, over: str) -> None:
        """The same by keyboard alone: Enter on the button, and once more while it still has the focus."""
        from selenium.webdriver import ActionChains

        def ended() -> bool:
            shown = [one.text for one in self.all(".bar button")]
            if any(over in text for text in shown):
                return True
            if any(text.startswith(end) for text in shown):
                self.key(end)
                ActionChains(self.driver).send_keys(Keys.ENTER).perform()
                # Closing takes a moment, in which nothing is to be pressed.
                time.sleep(2.0)
            return False

        self.wait("the recording does not end", ended)

    def type_into(self, label: str, text: str) -> None:
        """Type into the field with this label, over what stands there."""

        def typed() -> bool:
            box = self.js(
                "return [...document.querySelectorAll('.field')]"
                ".find((f) => f.querySelector('label').textContent === arguments[0])?.querySelector('input')",
                label,
            )
            if box is None:
                return False
            self.js("arguments[0].scrollIntoView({block: 'center'})", box)
            # Emptied as a person does it: the page hears of every key.
            box.send_keys(Keys.CONTROL, "a")
            box.send_keys(Keys.BACKSPACE, text)
            return True

        self.wait(f"no field: {label}", typed)

    @property
    def overflows(self) -> bool:
        """Whether the page scrolls sideways."""
        return bool(self.js("return document.documentElement.scrollWidth > window.innerWidth"))

    def complaints(self) -> list[str]:
        """What stands in the console since it was last asked."""
        return [entry["message"] for entry in self.driver.get_log("browser")]

    def requested(self) -> set[str]:
        """Hosts of everything that was asked for since it was last asked, sockets included."""
        hosts = set()
        for entry in self.driver.get_log("performance"):
            message = json.loads(entry["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                hosts.add(urlsplit(message["params"]["request"]["url"]).netloc)
            elif message["method"] == "Network.webSocketCreated":
                hosts.add(urlsplit(message["params"]["url"]).netloc)
        return hosts - {""}

    def barriers(self) -> list[str]:
        """Serious findings of axe-core about the page as it is."""
        source = files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
        self.js(f"{source}; window.axe = window.axe || axe;")
        found = self.driver.execute_async_script(
            "const done = arguments[arguments.length - 1];"
            "axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'best-practice']})"
            ".then((r) => done(r.violations), (e) => done([{id: String(e), impact: 'serious', nodes: []}]));"
        )
        return [
            f"{one['id']}: {[node['html'][:160] for node in one['nodes'][:3]]}"
            for one in found
            if one["impact"] in ("serious", "critical")
        ]

    def close(self) -> None:
        self.driver.quit()
