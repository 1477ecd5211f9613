"""The emulated rig as a source: a process of its own on pseudo terminals, recorded like any other rig."""

from __future__ import annotations

import asyncio
import tempfile
from collections.abc import AsyncIterator, Sequence
from contextlib import ExitStack, asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from feltload.app.jobs.client_inputs import read_profile
from feltload.app.jobs.painful import KnownPain
from feltload.app.live.recorder.request import RecordingRequest
from feltload.app.live.sources.filled_in import filled_in_request
from feltload.app.options import NOBODY, PersonOptions
from feltload.app.sessions.emulated_rig import emulated_rig
from feltload.app.sessions.script_choice import PreparedScript
from feltload.coaching import plan_holds

NOTES = "invented: emulated rig"
SESSION_S = 60.0
LINGER_S = 90.0
"""The sensors go on at rest for so long after the emulated person is done."""
TARE_S = 2.5
"""The emulated person rests for 3 s."""
HOLD_S = 11.0
"""An emulated hold takes no longer, with the way to it and the breath after it."""
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
    holds = await asyncio.to_thread(_holds, person) if kind == "holds" else ()
    duration_s += HOLD_S * len(holds)
    of_kind = {
        "machine": (),
        "holds": ("--holds", ",".join(f"{share:.3f}" for share in holds)),
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


def _holds(person: PersonOptions) -> tuple[float, ...]:
    """Where the emulated person holds, as parts of the travel: once at each position of the plan, in its order."""
    if person.result is None:
        return ()
    profile = read_profile(person.result)
    ends = float(profile.angle_rad[0]), float(profile.angle_rad[-1])
    painful = KnownPain.read(person.painful, person.client).on(profile.machine_name, profile.travel)
    return plan_holds(*ends, painful=painful).share
