"""A recorder started in a process of its own, which goes on when this one ends."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
from pathlib import Path

from feltload.app.errors import AppError
from feltload.app.live.recorder.request import Request, request_json
from feltload.app.running.marked import Trouble

MODULE = "feltload.app.live.recorder"


def start_recorder(request: Request) -> Path:
    """Start it, and wait until it listens.

    Returns
    -------
    Path
        Its session file.

    Raises
    ------
    AppError
        If it does not start, or refuses the request.
    """
    process = subprocess.Popen(
        [sys.executable, "-m", MODULE],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    if process.stdin is None or process.stdout is None:
        raise RuntimeError("a process with pipes has them")
    # Somebody has to take note of its end.
    threading.Thread(target=process.wait, name="recorder-ends", daemon=True).start()
    try:
        with process.stdin as ask, process.stdout as answer:
            ask.write(request_json(request))
            ask.close()
            said = json.loads(answer.readline())
    except (OSError, ValueError):
        raise AppError(
            "the recorder did not start", remedy="try `feltload record` in a terminal, which says why"
        ) from None
    if "trouble" in said:
        raise Trouble(**said["trouble"]).error()
    return Path(said["session"])
