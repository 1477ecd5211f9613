"""Measurements that end or hold up the process that makes them, for tests of a batch."""

from __future__ import annotations

import os
import signal
import time

from feltload.app.batch.part import Rows, measure_one
from feltload.app.batch.plan import Planned

KILLER = "killer"


def measure_or_die(planned: Planned) -> Rows:
    """The one called `KILLER` ends its process as the kernel does when memory runs out."""
    if planned.name == KILLER:
        os.kill(os.getpid(), signal.SIGKILL)
    return measure_one(planned)


def measure_slowly(planned: Planned) -> Rows:
    """Long enough for a worker to be killed at it."""
    time.sleep(0.4)
    return measure_one(planned)
