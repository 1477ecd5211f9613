"""The emulated rig as a source: a process of its own on pseudo terminals, recorded like any other rig."""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import AsyncIterator, Sequence
from contextlib import ExitStack, asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from feltload.app.live.recorder.request import RecordingRequest
from feltload.app.live.sources.filled_in import filled_in_request
from feltload.app.options import NOBODY, PersonOptions
from feltload.app.sessions.emulated_rig import emulated_rig
from feltload.app.sessions.script_choice import PreparedScript

NOTES = "invented: emulated rig"
SESSION_S = 60.0
LINGER_S = 90.0
"""The sensors go on at rest for so long after the emulated person is done."""
TARE_S = 2.5
"""The emulated person rests for 3 s."""
HOLDS = "0.1,0.3,0.5,0.7,0.9"
PARTNER = "60:0.55-1.0"


@dataclass(frozen=True)
class EmulatedSource:
    """An emulated rig that waits to be recorded.

    Attributes
    ----------
    request : RecordingRequest
        For `LiveSession.start`.
    prepared : PreparedScript
        Cautions, what lies ahead, question.
    """

    request: RecordingRequest
    prepared: PreparedScript


@asynccontextmanager
async def emulated_source(
    out: Path,
    *,
    kind: Literal["machine", "holds", "helped"] = "machine",
    load: str = "40 kg",
    person: PersonOptions = NOBODY,
    duration_s: float = SESSION_S,
    seed: int = 2,
    words: Sequence[str] = (),
) -> AsyncIterator[EmulatedSource]:
    """Run the emulated rig for as long as the block runs.

    Parameters
    ----------
    out : Path
        Recording to write; must not exist.
    kind : {"machine", "holds", "helped"}
        The emulated person repeats, holds against a fixed arm, or is helped by a partner.
    load : str
    person : PersonOptions
        What holds or a helped set go by.
    duration_s : float
        Length of the emulated person's session, which begins when the recorder opens the ports.
    seed : int
        The same seed gives the same session.
    words : sequence of str
        Further options of its process.

    Raises
    ------
    AppError
        If it does not start, as without pseudo terminals.
    """
    of_kind = {
        "machine": (),
        "holds": ("--holds", HOLDS),
        "helped": ("--partner", PARTNER, "--tempo", "slow"),
    }
    with ExitStack() as stack:
        scratch = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="feltload-emulated-")))
        rig = stack.enter_context(
            emulated_rig(
                *(load, seed, scratch),
                duration_s=duration_s,
                words=("--linger", str(LINGER_S), *of_kind[kind], *words),
            )
        )
        await asyncio.to_thread(rig.await_ready)
        request, prepared = filled_in_request(
            rig=rig.rig(),
            machine_toml=rig.machine_toml(),
            load=load,
            out=out,
            kind=kind,
            notes=NOTES,
            person=person,
            tare_s=TARE_S,
            duration_s=duration_s + LINGER_S,
        )
        yield EmulatedSource(request, prepared)
