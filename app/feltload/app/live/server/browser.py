"""The browser of this computer, opened beside the server."""

from __future__ import annotations

import os
import sys
import threading
import webbrowser
from contextlib import suppress

SCREENS = ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER")
"""Without any of these variables a Unix system has at most a browser for the terminal, which cannot show the pages."""


def open_browser(address: str) -> None:
    """Show an address, and return at once: some browsers are waited for until they are closed."""
    if sys.platform.startswith(("win", "darwin")) or any(os.environ.get(name) for name in SCREENS):
        threading.Thread(target=_open, args=(address,), name="opens the browser", daemon=True).start()


def _open(address: str) -> None:
    with suppress(webbrowser.Error):
        webbrowser.open(address)
