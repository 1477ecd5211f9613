"""The stream to a page: the whole state first, then what changes, as fast as the page takes it."""

from __future__ import annotations

import asyncio
import json
from contextlib import suppress
from typing import Any

from fastapi import APIRouter, WebSocket, WebSocketDisconnect

from feltload.app.live.pages.bench import Bench
from feltload.app.live.pages.geometry import machine_geometry
from feltload.app.live.pages.telling import idle_said, moving_told, passes_told, said
from feltload.app.live.server.guard import token_of
from feltload.app.live.server.sessions import Role
from feltload.app.live.state.live_session import LiveSession
from feltload.app.running.moving import Update

BEAT_S = 0.8
"""A page that hears nothing for some seconds connects again."""
SAID_EVERY = 6
"""Words change with every such update at most, unless the state changed."""
IDLE_S = 0.2


def stream_router(bench: Bench) -> APIRouter:
    """The route of the stream; only the cookie's session is served."""
    router = APIRouter()

    @router.websocket("/stream")
    async def stream(socket: WebSocket) -> None:
        await socket.accept()
        sending = asyncio.create_task(_send(bench, socket))
        with suppress(WebSocketDisconnect):
            # A page sends nothing here; this notices that it is gone.
            while True:
                await socket.receive_text()
        sending.cancel()
        await asyncio.gather(sending, return_exceptions=True)

    return router


async def _send(bench: Bench, socket: WebSocket) -> None:
    token = token_of(socket.headers, bench.cookie)
    while bench.sessions.role(token) >= Role.VIEW:
        live = bench.live
        if live is None:
            await socket.send_text(_json({"whole": {}, "said": idle_said()}))
        else:
            teller = _Teller(bench, live)
            async for update in live.follow():
                if (message := teller.message(update)) is not None:
                    await socket.send_text(_json(message))
                if bench.live is not live or bench.sessions.role(token) < Role.VIEW:
                    break
        while bench.live is live:
            await asyncio.sleep(BEAT_S)
            await socket.send_text("{}")
    await socket.close(1008)


class _Teller:
    """What one page was told of one recording."""

    def __init__(self, bench: Bench, live: LiveSession) -> None:
        self._machine, self._along, self._planned = bench.machine, bench.along, bench.has_plan
        self._state = live.state
        self._sent: dict[int, tuple[int, int]] = {}
        self._updates = 0
        self._said: dict[str, Any] = {}
        self._moving: dict[str, Any] = {}
        self._whole = False

    def message(self, update: Update) -> dict[str, Any] | None:
        """What is new; None when nothing is and nobody waits for a sign of life."""
        told: dict[str, Any] = {}
        self._updates += 1
        if update.state is not None:
            self._state = update.state
        if not self._whole:
            geometry = None if self._machine is None else machine_geometry(self._machine)
            told["whole"] = {"geometry": geometry, "planned": self._planned}
            self._whole = True
        if update.state is not None:
            told |= self._new_passes()
        if update.state is not None or self._updates % SAID_EVERY == 0:
            now = said(self._state, update.moving, self._along)
            if now != self._said:
                self._said = told["said"] = now
        if self._state.arms and (moving := moving_told(update.moving, self._state)):
            told |= {"now": moving} if moving != self._moving else {}
            self._moving = moving
        return told if told or self._updates % 20 == 0 else None

    def _new_passes(self) -> dict[str, Any]:
        """Passes that are over since, of each arm; those before ``from`` stay."""
        told = []
        for place, arm in enumerate(self._state.arms):
            sent, last = self._sent.get(place, (0, -1))
            new = [one for one in passes_told(arm) if one["id"] > last]
            told.append({"from": sent, "list": new})
            if new:
                self._sent[place] = sent + len(new), new[-1]["id"]
        return {"passes": told} if any(arm["list"] for arm in told) else {}


def _json(message: dict[str, Any]) -> str:
    return json.dumps(message, separators=(",", ":"), allow_nan=False)
