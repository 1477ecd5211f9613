"""A batch of recordings of a minute: time, gain of a second process, and memory.

    python benchmarks/bench_batch.py --recordings 1000

Recordings are one emulated session, copied: what is measured is the work, not its variety. `--small` lets several runs
share a busy computer. Memory is the largest of all processes together, sampled.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import psutil

from checked_recording import write_checked
from feltload.app.thread_limits import THREAD_LIMITS


def make_recordings(folder: Path, count: int) -> None:
    """Recordings of one minute; copies of it are links, which cost nothing."""
    folder.mkdir()
    write_minute(folder / "0000.mcap")
    for k in range(1, count):
        (folder / f"{k:04d}.mcap").hardlink_to(folder / "0000.mcap")
