"""A rig of two arms: an emulator's process for each, on real ptys, and one rig file for both."""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
from pathlib import Path


class TwoArms:
    """Two invented people at the same pace on an invented machine with two arms, until it is closed.

    Parameters
    ----------
    folder : Path
        Where ``rig.toml`` and ``machine.toml`` are written.
    capacity_n : float
        Stated as the rated capacity of the left cell.
    duration_s : float
        Of what they do.
    """

    def __init__(self, folder: Path, *, capacity_n: float, duration_s: float = 90.0) -> None:
        self._processes: dict[str, subprocess.Popen[str]] = {}
        parts = []
        for side in ("left", "right"):
            rig = folder / f"{side}.part"
            self._processes[side] = subprocess.Popen(
                [
                    *(sys.executable, "-m", "feltload.emulator", "--seed", "3", "--load", "40 kg"),
                    *("--duration", str(duration_s), "--linger", "600", "--patience", "300"),
                    *("--write-rig", str(rig), "--write-machine", str(folder / "machine.toml")),
                ],
                stdout=subprocess.PIPE,
                text=True,
            )
            json.loads(self._processes[side].stdout.readline())
            text = rig.read_text(encoding="utf-8")
            rig.unlink()
            if side == "left":
                text = re.sub(r"rated_capacity_n = .*", f"rated_capacity_n = {capacity_n}", text)
            streams = text[text.index("[[streams]]") :]
            named = rf'name = "\1-{side}"\nside = "{side}"\nkind'
            parts.append(re.sub(r'name = "(force|inertial)"\nkind', named, streams))
        # Not called invented: a recorder ends what is, soon after its last page.
        self.rig = folder / "rig.toml"
        self.rig.write_text('name = "two arms"\n' + "\n".join(parts), encoding="utf-8")

    def silence(self, side: str) -> None:
        """Both sensors of an arm say nothing more."""
        self._processes[side].send_signal(signal.SIGSTOP)

    def resume(self, side: str) -> None:
        """They speak again."""
        self._processes[side].send_signal(signal.SIGCONT)

    def close(self) -> None:
        for process in self._processes.values():
            process.send_signal(signal.SIGCONT)
            process.kill()
            process.communicate()
