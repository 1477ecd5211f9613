"""``feltload live``: pages for laptop and phone while something is measured."""

from __future__ import annotations

from pathlib import Path

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions

NEEDED = ("nicegui", "segno")


def live(
    rig: Path | None = None,
    /,
    *,
    share: bool = False,
    replay: Path | None = None,
    emulated: bool = False,
    folder: Path = Path(),
    port: int = 8137,
    no_browser: bool = False,
    common: CommonOptions = DEFAULTS,
) -> int:
    """Measure with pages on this computer, and on phones that are let in.

    Start page, the measurement as it happens, its result: everything is served from this computer, and nothing
    is fetched from elsewhere. Recordings, machine files and results are written into the folder. A recording
    goes on when a page or this command is closed. Never reach under or into a loaded machine; stop at once on pain.

    Example: feltload live

    Example: feltload live --emulated --folder try-it

    Parameters
    ----------
    rig
        Rig file to begin with.
    share
        Let others on the network watch; whoever types the code that is shown takes part.
    replay
        Recording to play on the pages.
    emulated
        An emulated rig in place of sensors, to try it.
    folder
        Where files are read from and written to.
    port
        Port to serve at; 0 for any that is free.
    no_browser
        Open no browser here.
    """
    from importlib.util import find_spec

    from feltload.acquisition import load_rig
    from feltload.app.errors import UsageError
    from feltload.app.files.recordings import open_recording
    from feltload.app.text.live import joining as words

    console = Console(common)
    if any(find_spec(name) is None for name in NEEDED):
        raise UsageError(words.NOT_INSTALLED, where="feltload live", remedy=words.INSTALL)
    if sum((rig is not None, replay is not None, emulated)) > 1:
        raise UsageError(words.ONE_OF_THREE, where="feltload live", remedy=words.CHOOSE_ONE)
    if rig is not None:
        load_rig(rig)
    if replay is not None:
        open_recording(replay)
    folder.mkdir(parents=True, exist_ok=True)
    from feltload.app.live.opening import Opening, open_pages

    asked = Opening(
        folder.resolve(), rig, replay, emulated=emulated, shared=share, port=port, browser=not no_browser
    )
    open_pages(console, asked)
    return 0
