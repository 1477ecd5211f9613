"""Opens the live pages: what was asked for on the command line becomes a bench, pages and a server."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from feltload.app.console import Console
from feltload.app.errors import UsageError
from feltload.app.live.ending import until_interrupted
from feltload.app.live.pages import hands, machine_form, measure, start
from feltload.app.live.pages.bench import EMULATED_LOAD, EMULATED_MACHINE, Bench
from feltload.app.live.pages.finding import sensors
from feltload.app.live.pages.finding.squares import squares
from feltload.app.live.pages.results import client, result
from feltload.app.live.pages.results.documents import documents_router
from feltload.app.live.pages.stream import stream_router
from feltload.app.live.phones.routes import phone_router
from feltload.app.live.server.address import LOOPBACK, bind, own_addresses, page_address
from feltload.app.live.server.browser import open_browser
from feltload.app.live.server.certificate import own_certificate
from feltload.app.live.server.guard import PHONE_DOOR, Guard, cookie_name
from feltload.app.live.server.origins import Origins
from feltload.app.live.server.serving import Place, build, serve
from feltload.app.live.server.sessions import Sessions, spaced
from feltload.app.live.setup.folder import WorkingFolder
from feltload.app.live.setup.replay import replay_request
from feltload.app.text.live import joining as words
from feltload.core import write_file


@dataclass(frozen=True)
class Opening:
    """What was asked for.

    Attributes
    ----------
    folder : Path
        Where files are read from and written to.
    rig : Path or None
    replay : Path or None
        Recording to play.
    emulated, shared : bool
    port : int
    browser : bool
        Whether to open a browser here.
    """

    folder: Path
    rig: Path | None = None
    replay: Path | None = None
    emulated: bool = False
    shared: bool = False
    port: int = 0
    browser: bool = True


def open_pages(console: Console, asked: Opening) -> None:
    """Serve the pages until they are interrupted.

    Raises
    ------
    FeltloadError
        The port is taken, there is no network to share on, or a file cannot be used.
    """
    addresses = own_addresses() if asked.shared else ()
    if asked.shared and not addresses:
        raise UsageError(words.no_network(), where="--share", remedy=words.JOIN_A_NETWORK)
    working = WorkingFolder(asked.folder)
    replay = None if asked.replay is None else replay_request(asked.replay, working)
    certificate = own_certificate(addresses) if addresses else None
    own_listener, *listeners = bind(asked.port, addresses)
    port = own_listener.getsockname()[1]
    sessions = Sessions(shared=asked.shared)
    shared_at = (
        page_address("https", addresses[0], port, f"/open?key={sessions.view_key}") if addresses else ""
    )
    bench = Bench(
        working,
        sessions,
        cookie_name(port),
        emulated=asked.emulated,
        shared_at=shared_at,
        fingerprint="" if certificate is None else certificate.fingerprint,
    )
    if asked.rig is not None:
        bench.choices = replace(bench.choices, rig=str(asked.rig.resolve()))
    for page in (start, machine_form, sensors, measure, hands, result, client):
        page.declare(bench)
    routers = [stream_router(bench), documents_router(bench), squares(bench)]
    if addresses:
        bench.phone_address = page_address("https", addresses[0], port, f"{PHONE_DOOR}?key=")
        routers.append(phone_router(bench.phones, sessions, port))
    app = build(bench.cookie, sessions, routers)
    plain = Place(Guard(app, Origins("http", port), sessions), [own_listener])
    secure = Place(Guard(app, Origins("https", port, addresses), sessions), listeners, certificate)
    own = page_address("http", LOOPBACK, port, f"/open?key={sessions.own_key}")

    def ready() -> None:
        console.say(words.opened_here(own))
        if shared_at:
            console.say(words.shared_at(shared_at, spaced(sessions.code)))
            console.say(words.warned_of(bench.fingerprint))
        console.result(
            {
                "address": own,
                "watch": shared_at or None,
                "code": sessions.code or None,
                "fingerprint": bench.fingerprint or None,
            }
        )
        if asked.browser:
            open_browser(own)

    async def serving() -> None:
        try:
            if asked.emulated:
                with console.progress(words.STARTING_EMULATED):
                    await _prepare_emulated(bench)
            if replay is not None:
                await bench.begin(replay)
            await serve(plain, secure if listeners else None, ready=ready)
        finally:
            await bench.close()

    # Ctrl-C is how it ends, also before there is a loop that could be told.
    with suppress(KeyboardInterrupt):
        asyncio.run(until_interrupted(serving()))
    if bench.is_recording and bench.live is not None:
        console.note(words.goes_on(bench.live.state.path))


async def _prepare_emulated(bench: Bench) -> None:
    """An emulated machine to choose, with the load that its person begins with."""
    path = bench.folder.path / EMULATED_MACHINE
    bench.choices = replace(bench.choices, load=EMULATED_LOAD, machine=path.name)
    request, _ = await bench.prepare()
    if not path.exists():
        write_file(path, request.info.machine_toml or "")
