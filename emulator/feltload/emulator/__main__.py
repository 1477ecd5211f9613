"""Emulated rig as a process of its own: one serial port per sensor, in real time.

Prints one line of JSON with the ports, waits for a reader on both, plays the session and leaves.
"""

from __future__ import annotations

import argparse
import json
import signal
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from types import FrameType
from typing import NoReturn

import numpy as np

from feltload.core import FeltloadError, InputError, parse_quantity
from feltload.emulator.boards.board import Boards, Port, play, wait_for_readers
from feltload.emulator.boards.faults import parse_faults
from feltload.emulator.boards.protocols import PROTOCOLS, protocol_names
from feltload.emulator.boards.rig_file import rig_toml
from feltload.emulator.machines.joint import Joint
from feltload.emulator.people.partner import Partner
from feltload.emulator.people.person import Person, lasting
from feltload.emulator.scenarios import scenario, scenario_names
from feltload.emulator.simulation import simulate
from feltload.emulator.surveys import machine_toml, peg_moved


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise InputError(message, remedy="see --help")


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
        prog="python -m feltload.emulator",
        description="Emulated rig on pseudo terminals. Machines and people are invented.",
        epilog='Example: --scenario lever-row --load "40 kg" --duration 45 --seed 1 --write-rig rig.toml',
    )
    parser.add_argument("--scenario", default="lever-row", help=", ".join(scenario_names()))
    parser.add_argument("--sensors", default="ordinary", help="ordinary, cheap, phone or fast")
    parser.add_argument("--tempo", default="mixed", choices=("slow", "brisk", "mixed"))
    parser.add_argument("--load", default="40 kg", help='mass loaded, such as "40 kg" or "90 lb"')
    parser.add_argument("--duration", type=float, default=45.0, help="length of the session in seconds")
    parser.add_argument(
        "--linger", type=float, default=3.0, help="seconds the sensors go on at rest after it"
    )
    parser.add_argument("--seed", type=int, default=0, help="the same seed gives the same session")
    parser.add_argument(
        "--protocol", default="reference", choices=protocol_names(), help="what is on the wire"
    )
    parser.add_argument("--speed", type=float, default=1.0, help="host time runs this many times faster")
    parser.add_argument("--faults", default="", help="corrupt=SHARE,drop=SHARE,reset=S,silent=S,hangup=S")
    parser.add_argument("--knocks", type=int, default=0, help="deliberate knocks on the handle at the start")
    parser.add_argument("--holds", default="", help="isometric holds at shares of the travel: 0.1,0.5,0.9")
    parser.add_argument("--partner", default="", help="newtons of help and where: 60:0.55-1.0")
    parser.add_argument(
        "--joint", default="", help="degrees of play, first mode in Hz, sensor on: 0.6:12:arm"
    )
    parser.add_argument("--peg-out", default="0 mm", help="peg further out than the machine file says")
    parser.add_argument("--patience", type=float, default=30.0, help="seconds to wait for readers")
    parser.add_argument("--write-rig", type=Path, help="write the rig file for these ports")
    parser.add_argument("--write-machine", type=Path, help="write the machine file of a plain lever")
    parser.add_argument("--survey-seed", type=int, help="draw the machine file at its stated uncertainties")
    return parser


def _shares(text: str) -> tuple[float, ...]:
    try:
        shares = tuple(float(part) for part in text.split(",") if part.strip())
    except ValueError:
        raise InputError(f"{text!r} is not a list of numbers", where="--holds") from None
    if any(not 0.0 <= share <= 1.0 for share in shares):
        raise InputError("positions are shares of the travel, 0 to 1", where="--holds")
    return shares


def _partner(text: str) -> Partner | None:
    if not text:
        return None
    try:
        force, _, span = text.partition(":")
        start, _, end = span.partition("-")
        return Partner(float(force), float(start), float(end))
    except ValueError:
        raise InputError(
            f"{text!r} is not FORCE:FROM-TO", where="--partner", remedy="such as 60:0.55-1.0"
        ) from None


def _joint(text: str) -> Joint | None:
    if not text:
        return None
    try:
        play_deg, mode_hz, side = text.split(":")
        joint = Joint(float(np.radians(float(play_deg))), float(mode_hz), sensor="arm")
    except ValueError:
        side = ""
    if side not in ("arm", "handle") or not (joint.play_rad >= 0.0 and joint.mode_hz > 0.0):
        raise InputError(f"{text!r} is not DEGREES:HZ:SIDE", where="--joint", remedy="such as 0.6:12:arm")
    return replace(joint, sensor="arm" if side == "arm" else "handle")


def _leave(signum: int, frame: FrameType | None) -> NoReturn:
    raise SystemExit(0)


def _run(arguments: Sequence[str]) -> None:
    given = _parser().parse_args(arguments)
    for name in ("duration", "speed", "patience"):
        if not getattr(given, name) > 0.0:
            raise InputError("must be more than zero", where=f"--{name}")
    if given.seed < 0 or given.linger < 0.0 or given.knocks < 0 or (given.survey_seed or 0) < 0:
        raise InputError("--seed, --survey-seed, --linger and --knocks cannot be negative")
    load_kg = parse_quantity(given.load, "mass", where="--load").value
    faults = parse_faults(given.faults)
    partner = _partner(given.partner)
    person = Person(tempo=given.tempo, handle_knocks=given.knocks, holds=_shares(given.holds))
    scene = scenario(
        given.scenario,
        sensors=given.sensors,
        tempo=given.tempo,
        load_kg=load_kg,
        person=person,
        partner=partner,
        joint=_joint(given.joint),
    )
    if given.write_machine is not None:
        rng = None if given.survey_seed is None else np.random.default_rng(given.survey_seed)
        given.write_machine.write_text(machine_toml(scene, rng=rng), encoding="utf-8")
    peg_out_m = parse_quantity(given.peg_out, "length", where="--peg-out").value
    if peg_out_m:
        scene = peg_moved(scene, peg_out_m)
    person = lasting(scene.person, scene.machine.travel_rad, given.duration, seed=given.seed)
    scene = replace(scene, person=replace(person, end_rest_s=person.end_rest_s + given.linger))
    run = simulate(scene, seed=given.seed)
    boards = Boards(Port(), Port())
    try:
        if given.write_rig is not None:
            text = rig_toml(scene, PROTOCOLS[given.protocol], boards.force.path, boards.inertial.path)
            given.write_rig.write_text(text, encoding="utf-8")
        ports = {"force": boards.force.path, "inertial": boards.inertial.path}
        print(
            json.dumps({**ports, "scenario": scene.name, "load_kg": load_kg, "seed": given.seed}), flush=True
        )
        wait_for_readers(boards, given.patience)
        play(run, boards, faults, PROTOCOLS[given.protocol], speed=given.speed)
    finally:
        boards.force.close()
        boards.inertial.close()


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the emulated rig; 0, or 2 with one line on standard error."""
    signal.signal(signal.SIGTERM, _leave)
    try:
        _run(sys.argv[1:] if arguments is None else arguments)
    except KeyboardInterrupt:
        return 0
    except (FeltloadError, OSError) as error:
        print(f"emulated rig: {error}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
