"""Every test may say what it needs of the computer: ``@pytest.mark.needs("pty")``."""

from __future__ import annotations

import os

import pytest

from needs import require

os.environ["FELTLOAD_SETTINGS"] = os.devnull
"""No test reads the settings of whoever runs it."""
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
"""Hundreds of commands are started: each would compile the program again."""


def pytest_runtest_setup(item: pytest.Item) -> None:
    for mark in item.iter_markers("needs"):
        for name in mark.args:
            require(name)
