"""Puts pages, door and guard together and answers until it is stopped."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from importlib.resources import files
from typing import Literal

import uvicorn
from fastapi import APIRouter, FastAPI, HTTPException, Request
from fastapi.middleware.gzip import GZipMiddleware
from fastapi.responses import Response
from nicegui import ui

from feltload.app.live.server.certificate import OwnCertificate
from feltload.app.live.server.door import door
from feltload.app.live.server.guard import Asgi
from feltload.app.live.server.sessions import Sessions

KINDS = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}
RECONNECT_S = 120.0
"""A page that was away for less comes back as it was; after longer it loads again, from the state as it is then."""
MESSAGES_KEPT = 20_000


def build(cookie: str, sessions: Sessions, routers: Sequence[APIRouter]) -> FastAPI:
    """The whole application, to be put behind its guard; pages of NiceGUI have been declared before.

    Parameters
    ----------
    cookie : str
        Name of the session's cookie.
    sessions : Sessions
    routers : sequence of APIRouter
        What is served beside the pages, such as the stream of what is measured.
    """
    served = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)
    served.include_router(door(sessions, cookie))
    served.include_router(assets())
    # A page itself comes unpacked: it carries a nonce, which packing beside what others typed would help to guess.
    served.add_middleware(GZipMiddleware, minimum_size=500)
    for router in routers:
        served.include_router(router)
    ui.run_with(
        served,
        title="feltload",
        language="en-US",
        dark=None,
        tailwind=False,
        show_welcome_message=False,
        reconnect_timeout=RECONNECT_S,
        message_history_length=MESSAGES_KEPT,
        binding_refresh_interval=None,
    )
    return served


@dataclass(frozen=True)
class Place:
    """Bound sockets, and what answers on them.

    Attributes
    ----------
    app : ASGI application
        Behind its guard.
    listeners : list of socket
    certificate : OwnCertificate or None
        With it over TLS.
    """

    app: Asgi
    listeners: list[socket.socket]
    certificate: OwnCertificate | None = None


async def serve(plain: Place, secure: Place | None, *, ready: Callable[[], None]) -> None:
    """Answer until it is cancelled, then finish what is being answered; `ready` is called before.

    Parameters
    ----------
    plain : Place
        On this computer alone, where nothing is there to be read on the way.
    secure : Place, optional
        On its networks, over TLS.
    """
    servers = {_Server(_config(plain)): plain.listeners}
    if secure is not None:
        servers[_Server(_config(secure, lifespan="off"))] = secure.listeners
    for listener in (one for listeners in servers.values() for one in listeners):
        listener.listen()
    ready()
    answering = asyncio.gather(*(server.serve(sockets=listeners) for server, listeners in servers.items()))
    try:
        await asyncio.shield(answering)
    except asyncio.CancelledError:
        for server in servers:
            server.should_exit = True
        await answering
        raise


class _Server(uvicorn.Server):
    """A server that leaves signals alone: after one it would end the process before anything else is closed."""

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Leave them as they are."""
        yield


def _config(place: Place, *, lifespan: Literal["auto", "off"] = "auto") -> uvicorn.Config:
    kept = place.certificate
    return uvicorn.Config(
        place.app,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        ws_max_size=1_000_000,
        timeout_graceful_shutdown=2,
        lifespan=lifespan,
        ssl_certfile=None if kept is None else str(kept.certificate),
        ssl_keyfile=None if kept is None else str(kept.key),
    )


def assets() -> APIRouter:
    """The files of the pages themselves, each by its name; a name is looked up, never joined to a path.

    A browser asks again each time, by the hash of what it has: after an update of the program it gets the new file, and
    else a line.
    """
    router = APIRouter()
    folder = files("feltload.app.live.pages") / "static"
    known = {found.name: found.read_bytes() for found in folder.iterdir() if found.is_file()}
    marks = {name: f'"{sha256(data).hexdigest()[:32]}"' for name, data in known.items()}

    @router.get("/assets/{name}")
    async def asset(name: str, request: Request) -> Response:
        kind = KINDS.get(f".{name.rpartition('.')[2]}")
        if name not in known or kind is None:
            raise HTTPException(404)
        headers = {"cache-control": "no-cache", "etag": marks[name]}
        if marks[name] in request.headers.get("if-none-match", ""):
            return Response(status_code=304, headers=headers)
        return Response(known[name], media_type=kind, headers=headers)

    return router
