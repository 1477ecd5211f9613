"""``feltload start``: what to do, and the command for it."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

if TYPE_CHECKING:
    from feltload.app.jobs.beginning.goals import Goal, Plan


def start(
    *,
    do: Literal["machine", "client", "check"] | None = None,
    folder: Path = Path(),
    bluetooth: bool = True,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Ask what you want to do, look at what is there, and open the page for it or name the command.

    It looks at files in the folder, at serial ports and at advertising Bluetooth LE sensors; no sensor is opened and
    nothing is written. Without a terminal it asks nothing and names the command for each of the three.

    Example: feltload start

    Example: feltload start --do client --bluetooth=false

    Parameters
    ----------
    do
        Measure a machine, fit one to a client, or check one against its drawing (machine file); asked for unless given.
    folder
        Where your files are.
    bluetooth
        Scan for Bluetooth LE sensors too; --bluetooth=false leaves it out.
    """
    from feltload.acquisition import serial_ports
    from feltload.app.errors import UsageError
    from feltload.app.jobs.beginning.at_hand import look_around
    from feltload.app.jobs.beginning.goals import Goal, live_installed, plan_for
    from feltload.app.text.computer.start import found_text

    console = Console(common)
    if not folder.is_dir():
        raise UsageError("is no folder", where=str(folder), remedy="name one that is there with --folder")
    goals = list(Goal) if do is None else [Goal(do)]
    someone = sys.stdin.isatty() and console.screen.is_terminal and not common.json
    if do is None and someone:
        goals = [_ask(console)]
    found = look_around(folder)
    ports = [port.name for port in serial_ports() if port.identity is not None]
    sensors = _sensors(console) if bluetooth else []
    for line in found_text(found, ports, sensors):
        console.say(line)
    plans = {goal: plan_for(goal, found, ports, live=live_installed(), folder=folder) for goal in goals}
    _show(console, plans)
    console.result(
        {
            "serial": ports,
            "bluetooth": sensors,
            "plans": {
                str(goal): {
                    "now": plan.now.command,
                    "instead": None if plan.instead is None else plan.instead.command,
                }
                for goal, plan in plans.items()
            },
        }
    )
    if someone and len(plans) == 1 and plans[goals[0]].now.words[0] == "live":
        return _open_page(console, found.rigs[:1], folder, common)
    return 0


def _open_page(console: Console, rigs: tuple[Path, ...], folder: Path, common: CommonOptions) -> int:
    """Open the page that leads through a measurement, if the person says so."""
    from rich.prompt import Confirm

    from feltload.app.commands.live import live
    from feltload.app.text.computer.start import OPEN_NOW

    try:
        wanted = Confirm.ask(OPEN_NOW, console=console.screen, default=False)
    except EOFError:
        raise KeyboardInterrupt from None
    return live(*rigs, folder=folder, common=common) if wanted else 0


def _ask(console: Console) -> Goal:
    """Put the one question; the end of input is an interrupt."""
    from rich.prompt import Prompt

    from feltload.app.jobs.beginning.goals import Goal
    from feltload.app.text.computer.start import GOALS, QUESTION

    console.note(QUESTION)
    for number, goal in enumerate(Goal, start=1):
        console.note(f"  {number}  {GOALS[goal]}")
    numbers = [str(number) for number in range(1, len(Goal) + 1)]
    try:
        answer = Prompt.ask("its number", console=console.screen, choices=numbers, show_choices=False)
    except EOFError:
        raise KeyboardInterrupt from None
    return list(Goal)[int(answer) - 1]


def _sensors(console: Console) -> list[str]:
    """Names of advertising peripherals; no Bluetooth is a remark."""
    import asyncio

    from feltload.acquisition import LinkError, peripherals

    try:
        with console.progress("Looking for Bluetooth LE sensors"):
            reachable = asyncio.run(peripherals(3.0))
    except LinkError as error:
        console.note(f"Note: {error}")
        return []
    return [item.name or item.address for item in reachable]


def _show(console: Console, plans: dict[Goal, Plan]) -> None:
    from feltload.app.text.computer.start import GOALS

    for goal, plan in plans.items():
        if len(plans) > 1:
            console.say(f"{GOALS[goal]}:")
        console.say(f"Now: {plan.now.command}   ({plan.now.why})")
        if plan.instead is not None:
            console.say(f"or:  {plan.instead.command}   ({plan.instead.why})")
