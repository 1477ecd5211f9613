"""Every test may say what it needs of the computer: ``@pytest.mark.needs("pty")``."""

from __future__ import annotations

import pytest

from needs import require


def pytest_runtest_setup(item: pytest.Item) -> None:
    for mark in item.iter_markers("needs"):
        for name in mark.args:
            require(name)
