"""The program's door: Ctrl-C ends it plainly also while it is still loading its libraries."""

from __future__ import annotations

import sys

from feltload.app.exit_codes import EXIT_INTERRUPTED, STOPPED


def main() -> int:
    """Run the command line; the exit code of `feltload.app.cli.main`."""
    try:
        # Loading takes a moment, in which a person may think better of it.
        from feltload.app.cli import main as run

        return run()
    except KeyboardInterrupt:
        sys.stderr.write(f"feltload: {STOPPED}\n")
        return EXIT_INTERRUPTED
