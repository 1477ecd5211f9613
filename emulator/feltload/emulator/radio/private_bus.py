"""A D-Bus daemon of our own, with an emulated Bluetooth service on it that bleak uses as the system's."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

CONFIGURATION = Path(__file__).with_name("private_bus.conf")


class PrivateBus:
    """The daemon and the service, each in a process of its own; `order` tells the service what to do."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.socket = folder / "bus"
        self.address = f"unix:path={self.socket}"
        self._daemon: subprocess.Popen[bytes] | None = None
        self._service: subprocess.Popen[str] | None = None

    def start_daemon(self) -> None:
        configuration = self.folder / "bus.conf"
        text = CONFIGURATION.read_text(encoding="utf-8")
        configuration.write_text(text.replace("@SOCKET@", str(self.socket)), encoding="utf-8")
        self.socket.unlink(missing_ok=True)
        self._daemon = subprocess.Popen(
            ["dbus-daemon", f"--config-file={configuration}", "--nofork", "--nopidfile", "--print-address"],
            stdout=subprocess.PIPE,
        )
        if self._daemon.stdout is None or not self._daemon.stdout.readline():
            raise RuntimeError("the D-Bus daemon did not start")

    def start_service(self) -> None:
        self._service = subprocess.Popen(
            [sys.executable, "-m", "feltload.emulator.radio.service"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={**os.environ, "DBUS_SYSTEM_BUS_ADDRESS": self.address},
        )
        self._answer()

    def order(self, do: str, **details: Any) -> dict[str, Any]:
        if self._service is None or self._service.stdin is None:
            raise RuntimeError("the emulated service is not running")
        self._service.stdin.write(json.dumps({"do": do, **details}) + "\n")
        self._service.stdin.flush()
        return self._answer()

    def _answer(self) -> dict[str, Any]:
        if self._service is None or self._service.stdout is None:
            raise RuntimeError("the emulated service is not running")
        line = self._service.stdout.readline()
        if not line:
            raise RuntimeError("the emulated service died")
        answer: dict[str, Any] = json.loads(line)
        return answer

    def kill_service(self) -> None:
        self._end(self._service)
        self._service = None

    def kill_daemon(self) -> None:
        self._end(self._daemon)
        self._daemon = None

    @staticmethod
    def _end(process: subprocess.Popen[Any] | None) -> None:
        if process is not None:
            process.kill()
            process.wait()
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    with contextlib.suppress(OSError):
                        pipe.close()
