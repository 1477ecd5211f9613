"""Puts pages, door and guard together and answers until it is stopped."""

from __future__ import annotations

import socket
from collections.abc import Callable, Sequence
from importlib.resources import files
from importlib.resources.abc import Traversable

import uvicorn
from fastapi import APIRouter, FastAPI, HTTPException
from fastapi.responses import Response
from nicegui import ui

from feltload.app.live.server.door import door
from feltload.app.live.server.guard import Asgi, Guard, cookie_name
from feltload.app.live.server.origins import Origins
from feltload.app.live.server.sessions import Sessions

KINDS = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}
RECONNECT_S = 120.0
"""A page that was away for less comes back as it was; after longer it loads again, from the state as it is then."""
MESSAGES_KEPT = 20_000


def build(origins: Origins, sessions: Sessions, routers: Sequence[APIRouter]) -> Guard:
    """The whole application behind its guard; pages of NiceGUI have been declared before.

    Parameters
    ----------
    origins : Origins
    sessions : Sessions
    routers : sequence of APIRouter
        What is served beside the pages, such as the stream of what is measured.
    """
    served = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)
    served.include_router(door(sessions, cookie_name(origins.port), secure=origins.scheme == "https"))
    served.include_router(assets())
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
    return Guard(served, origins, sessions)


async def serve(app: Asgi, listener: socket.socket, *, ready: Callable[[], None]) -> None:
    """Answer on a bound socket until the process is interrupted or told to end; `ready` is called before."""
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        ws_max_size=1_000_000,
        timeout_graceful_shutdown=2,
    )
    server = uvicorn.Server(config)
    listener.listen()
    ready()
    await server.serve(sockets=[listener])


def assets() -> APIRouter:
    """The files of the pages themselves, each by its name; a name is looked up, never joined to a path."""
    router = APIRouter()
    folder = files("feltload.app.live.pages") / "static"
    known: dict[str, Traversable] = {found.name: found for found in folder.iterdir()}

    @router.get("/assets/{name}")
    async def asset(name: str) -> Response:
        found = known.get(name)
        kind = KINDS.get(f".{name.rpartition('.')[2]}")
        if found is None or kind is None:
            raise HTTPException(404)
        return Response(found.read_bytes(), media_type=kind, headers={"cache-control": "no-cache"})

    return router
