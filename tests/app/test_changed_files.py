"""Whatever is in a file that a person hands in: done, or one line about it; no traceback, nothing raised.

Seeded by `hypothesis`; many more in `benchmarks/soak_files.py`, with limits of time and memory.
"""

from __future__ import annotations

import random
import tempfile
import warnings
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings, strategies as st

from rig_changed_files import FileKind, changed, file_kinds, run

FILES = {"rig": 150, "machine": 250, "certificate": 90, "readings": 30, "recording": 30, "force-csv": 150}
FILES |= {"inertial-csv": 150, "settings": 300, "client": 300, "session": 250, "capacity": 100}
FILES |= {"capacity-table": 100, "profile": 150, "provenance": 20}
"""How many of each kind; fewer of those that take long to read."""


@pytest.fixture(scope="module")
def kinds(tmp_path_factory: pytest.TempPathFactory) -> dict[str, FileKind]:
    return file_kinds(tmp_path_factory.mktemp("sound"))


def test_every_kind_is_tried(kinds: dict[str, FileKind]) -> None:
    assert set(kinds) == set(FILES)
    assert sum(FILES.values()) >= 2000


@pytest.mark.parametrize("name", FILES)
def test_a_changed_file_is_read_or_refused_in_one_line(kinds: dict[str, FileKind], name: str) -> None:
    kind = kinds[name]

    @settings(
        max_examples=FILES[name],
        derandomize=True,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(st.integers(0, 2**48))
    def read(number: int) -> None:
        with tempfile.TemporaryDirectory() as folder, warnings.catch_warnings():
            warnings.simplefilter("error", RuntimeWarning)
            path = Path(folder) / kind.name
            path.write_bytes(changed(kind, random.Random(number)))
            done = run(kind.words(path), path if name == "settings" else None)
        assert done.is_sound, done.err

    read()
