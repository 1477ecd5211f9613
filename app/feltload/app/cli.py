"""The command ``feltload``: its list of commands, and what becomes of an error.

Commands are named by import path, so that a command's libraries load only when it runs.
"""

from __future__ import annotations

import atexit
import gc
import os
import sys
import traceback
from collections.abc import Callable, Sequence
from contextvars import copy_context
from importlib.metadata import version
from inspect import BoundArguments

from cyclopts import App, CycloptsError, Parameter

from feltload.app.console import Console, print_error
from feltload.app.exit_codes import EXIT_BAD_INPUT, EXIT_INTERRUPTED, STOPPED
from feltload.app.options import KEEPING, CommonOptions
from feltload.app.thread_limits import THREAD_LIMITS

GARBAGE_THRESHOLD = 100_000
"""New objects from which on Python looks for garbage."""

COMMANDS = {
    "start": "feltload.app.commands.setting_up.start:start",
    "demo": "feltload.app.commands.setting_up.demo:demo",
    "doctor": "feltload.app.commands.setting_up.doctor:doctor",
    "devices": "feltload.app.commands.devices:devices",
    "live": "feltload.app.commands.live:live",
    "record": "feltload.app.commands.record:record",
    "import": "feltload.app.commands.import_csv:import_csv",
    "export": "feltload.app.commands.export:export",
    "calibrate": "feltload.app.commands.calibrate:app",
    "profile": "feltload.app.commands.profile:profile",
    "batch": "feltload.app.commands.studying.batch:batch",
    "remake": "feltload.app.commands.studying.remake:remake",
    "report": "feltload.app.commands.report:report",
    "check": "feltload.app.commands.check:check",
    "compare": "feltload.app.commands.studying.compare:compare",
    "study": "feltload.app.commands.studying.study:study",
    "health": "feltload.app.commands.studying.health:health",
    "predict": "feltload.app.commands.designing.predict:predict",
    "new": "feltload.app.commands.new:app",
    "survey": "feltload.app.commands.survey:survey",
    "design": "feltload.app.commands.designing.design:design",
    "draw": "feltload.app.commands.designing.draw:draw",
    "client": "feltload.app.commands.client:app",
}
"""Command -> where it lives. A new command is one file under ``commands/`` and one line here."""


def build_app() -> App:
    """Return the command-line parser with every command registered."""
    app = App(
        name="feltload",
        help="Measure what a resistance machine really asks of the person on it.",
        help_epilogue="Start here: feltload start, or feltload demo to see it all on an emulated machine",
        version=lambda: f"feltload {version('feltload')}",
        version_flags=["--version"],
        help_format="markdown",
        default_parameter=Parameter(negative="", negative_iterable=()),
        result_action="return_value",
    )
    app.register_install_completion_command(
        help="Let the Tab key complete commands and options in this shell."
    )
    for name, target in COMMANDS.items():
        app.command(target, name=name)
    return app


def main(tokens: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    tokens : sequence of str, optional
        The command line without the program's name; default ``sys.argv[1:]``.

    Returns
    -------
    int
        Exit code: 0 done, 1 a check that did not pass, 2 bad input, 130 interrupted.
    """
    for limit in THREAD_LIMITS:
        os.environ.setdefault(limit, "1")
    # Loading libraries makes hundreds of thousands of objects that stay; searching them for garbage is wasted.
    gc.set_threshold(GARBAGE_THRESHOLD)
    # What is there at the end goes with the process.
    atexit.register(gc.freeze)
    words = list(sys.argv[1:] if tokens is None else tokens)
    debug = "--debug" in words
    try:
        app = build_app()
        _import_listed(app, words)
        command, bound, _ = app.parse_args(words, exit_on_error=False, print_error=False)
        # In a context of its own: the unit of force that one command writes in is not the next one's.
        context = copy_context()
        outcome = context.run(_run, app.parse_commands(words)[0], command, bound)
        code = outcome if isinstance(outcome, int) else 0
        context.run(_name_next, app, words, bound, code)
        return code
    except CycloptsError as error:
        shown = " ".join(word for word in words[:1] if not word.startswith("-"))
        print_error(f"{error} Try: feltload {shown + ' ' if shown in COMMANDS else ''}--help")
        return EXIT_BAD_INPUT
    except KeyboardInterrupt:
        print_error(STOPPED)
        return EXIT_INTERRUPTED
    except BrokenPipeError:
        # The reader (a pager, `head`) went away: not an error, and nothing more can be printed.
        sys.stderr.close()
        return 0
    except Exception as error:
        if debug:
            traceback.print_exc()
        from feltload.app.text.facts import error_line

        print_error(error_line(error))
        return EXIT_BAD_INPUT


def run_words(words: Sequence[str]) -> object:
    """Run one command inside another: its errors are raised, and nothing says what comes next."""
    app = build_app()
    command, bound, _ = app.parse_args(list(words), exit_on_error=False, print_error=False)
    return copy_context().run(_run, app.parse_commands(list(words))[0], command, bound)


def _run(names: Sequence[str], command: Callable[..., object], bound: BoundArguments) -> object:
    """Run a command, and keep how it was asked for; of one that fails, no empty directory is left."""
    from feltload.app.files.outputs import no_empty_directories

    with no_empty_directories():
        outcome = command(*bound.args, **bound.kwargs)
    if names[:1] and names[0] in KEEPING:
        from feltload.app.files.asked import keep_command

        keep_command(names[0], bound)
    return outcome


def _import_listed(app: App, words: Sequence[str]) -> None:
    """Import the commands that an overview lists, since it shows the first sentence of each."""
    left = list(words)
    while left and left[0] in app and not left[0].startswith("-"):
        app = app[left.pop(0)]
    if not left or left[0] in ("--help", "-h"):
        for name in app:
            app[name]


def _name_next(app: App, words: Sequence[str], bound: BoundArguments, outcome: int) -> None:
    """Say what comes next, to a person who did not ask for quiet."""
    bound.apply_defaults()
    common = bound.arguments.get("common")
    if not isinstance(common, CommonOptions) or common.json or common.quiet:
        return
    from feltload.app.next_steps.after import next_step

    step = next_step(app.parse_commands(words)[0], bound.arguments, outcome)
    if step is not None:
        Console(common).note(f"Next: {step.command}{f'   ({step.why})' if step.why else ''}")
