"""``feltload record``: sensors to one recording, guided in the terminal."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, NOBODY, CommonOptions, PersonOptions

if TYPE_CHECKING:
    from collections.abc import Sequence

    from feltload.acquisition import RecordingSummary
    from feltload.app.sessions.script_choice import PreparedScript
    from feltload.core import Fact


def record(
    rig: Path,
    /,
    *,
    machine: Path,
    load: str,
    out: Path,
    side: Literal["left", "right"] | None = None,
    duration: str | None = None,
    tare: str = "3 s",
    tempo: str | None = None,
    notes: str = "",
    kind: Literal["machine", "holds", "helped"] = "machine",
    person: PersonOptions = NOBODY,
    certificate: list[Path] | None = None,
    field_check: str | None = None,
    force_overwrite: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Record the sensors of a rig, guided from rest to the last repetition or hold.

    Rest on the stop with hands off first (zero and reference). A machine: then slow repetitions through the
    whole range, then brisk ones, then rest again. Holds: position by position, with countdown and rests. A
    helped set: a partner helps in every repetition. The maker's instructions, local codes and the
    facility's rules come first; never reach under or into a loaded machine; stop at once on pain (key p).

    Example: feltload record rig.toml --machine row.toml --load "40 kg" --out row-40kg.mcap

    Example: feltload record rig.toml --kind holds --result row --machine row.toml --load "40 kg" --out holds.mcap

    Parameters
    ----------
    rig
        Rig file: which sensors, on which ports.
    machine
        Machine file; kept in the recording.
    load
        Mass loaded, such as "40 kg", "40.12(0.02) kg" or "90 lb".
    out
        Recording to write (.mcap).
    side
        Arm that is moved, on a machine with two.
    duration
        Length, such as "60 s"; without it, until you end it (Enter, then y) or press Ctrl-C.
    tare
        Hands-off rest at the start; "0 s" for none.
    tempo
        Tempo plan to keep with it, such as 3-1-3.
    notes
        Free text to keep with it.
    kind
        What is recorded: repetitions of the machine, a person's maximal holds, or a set with help by hand.
    certificate
        Calibration certificates (JSON) of the sensors, matched by serial number, name or kind; or STREAM=FILE.
    field_check
        Known weight to hang on the cell after the rest, such as "10 kg" or "10.000(0.005) kg": shows whether the
        certificate still holds. Needs a terminal; stay within the cell's rated capacity and keep feet clear.
    force_overwrite
        Replace a recording that is there already.
    """
    import asyncio

    from feltload.acquisition import RecordingInfo, assign_certificates, load_rig
    from feltload.app.files.inputs import read_load, read_machine_text
    from feltload.app.files.invented import with_replays_flagged
    from feltload.app.files.outputs import claimed_file
    from feltload.app.files.recordings import facts_of_given, read_certificates
    from feltload.app.sessions.recording_session import run_session
    from feltload.app.sessions.script_choice import prepare_script
    from feltload.calibration import refuse_overload, weight_force
    from feltload.coaching import ClientFolder
    from feltload.core import parse_quantity

    console = Console(common)
    mass = read_load(load, "--load")
    described = with_replays_flagged(load_rig(rig))
    duration_s = None if duration is None else parse_quantity(duration, "time", where="--duration").value
    tare_s = parse_quantity(tare, "time", where="--tare").value
    given = read_certificates(certificate or [])
    info = RecordingInfo(
        load_kg=mass.value,
        load_u_kg=mass.u,
        load_stated=mass.text,
        rig=described,
        side=side,
        tempo=tempo,
        notes=notes,
        kind=kind,
        machine_toml=read_machine_text(machine),
        certificates=assign_certificates(given, described.streams),
    )
    if field_check is not None:
        applied = weight_force(field_check, where="--field-check")
        refuse_overload(applied.value, described, where="--field-check")
    folder = None if person.client is None else ClientFolder.open(person.client)
    prepared = prepare_script(info, person)
    with claimed_file(out, overwrite=force_overwrite, private=info.is_about_a_person):
        if folder is not None:
            # A recording that is killed is known too.
            folder = folder.announce_file(out)
        _say_ahead(console, prepared, facts_of_given(given))
        session = run_session(
            *(console, described, info, out),
            duration_s=duration_s,
            tare_s=tare_s,
            overwrite=force_overwrite,
            known_weight=field_check,
            prepared=prepared,
        )
        summary = asyncio.run(session)
    if folder is not None:
        folder.note_file(summary.path)
    _show(console, summary, field_check)
    if summary.fault is not None:
        raise summary.fault
    return 0


def _say_ahead(console: Console, prepared: PreparedScript, facts: Sequence[Fact]) -> None:
    """Cautions, what is to be known of the certificates, and what lies ahead."""
    from feltload.app.text.cautions import BEFORE_LOADING, CAUTIONS

    for caution in (*BEFORE_LOADING, *(CAUTIONS[caution] for caution in prepared.cautions)):
        console.note(f"! {caution}")
    console.facts(facts)
    for line in prepared.ahead:
        console.note(line)


def _show(console: Console, summary: RecordingSummary, field_check: str | None) -> None:
    """What was recorded: its health, its zeros, and how the known weight compares."""
    from feltload.app.files.recordings import open_recording
    from feltload.app.jobs.measuring.field_checks import field_checks_of
    from feltload.app.sessions.known_weight import KEY
    from feltload.app.text.facts import describe
    from feltload.app.text.inputs import describe_field_check
    from feltload.signal import recorded_zeros

    console.facts(summary.facts())
    if summary.fault is not None:
        console.note(f"Note: {summary.fault}")
    console.say(f"Recorded {summary.duration_s:.0f} s into {summary.path}")
    recording = open_recording(summary.path)
    zeros = recorded_zeros(recording)
    for name, zero in zeros.items():
        for doubt in zero.warnings:
            console.note(f"Note: zero of {name}: {describe(doubt)}")
    checks = field_checks_of(recording) if field_check is not None else ()
    for check in checks:
        console.say(describe_field_check(check))
    if field_check is not None and not checks:
        console.note(f"Note: no field check: {KEY} was not pressed while {field_check} hung")
    console.result(
        {
            "recording": str(summary.path),
            "duration_s": summary.duration_s,
            "streams": [health.to_dict() for health in summary.streams],
            "facts": [fact.to_dict() for fact in summary.facts()],
            "fault": None if summary.fault is None else str(summary.fault),
            "zeros": {
                name: {
                    "zero_n": zero.zero_n,
                    "u_n": zero.u_n,
                    "source": zero.source,
                    "warnings": [fact.to_dict() for fact in zero.warnings],
                }
                for name, zero in zeros.items()
            },
            "field_checks": [check.model_dump() for check in checks],
        }
    )
