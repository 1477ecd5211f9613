"""Squares to point a phone at: to watch, and to become a sensor."""

from __future__ import annotations

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response

from feltload.app.live.pages.bench import Bench
from feltload.app.live.server.address import square_code
from feltload.app.live.server.guard import token_of
from feltload.app.live.server.sessions import Role


def squares(bench: Bench) -> APIRouter:
    """Addresses as square codes; the one that lets a sensor in is for whoever takes part."""
    router = APIRouter()

    @router.get("/square.svg")
    async def square() -> Response:
        return _svg(bench.shared_at)

    @router.get("/sensor.svg")
    async def sensor(request: Request) -> Response:
        if bench.sessions.role(token_of(request.headers, bench.cookie)) is not Role.CONTROL:
            raise HTTPException(403)
        return _svg(sensor_address(bench))

    return router


def sensor_address(bench: Bench) -> str:
    """Address that lets one phone in as a sensor; the next one has another."""
    return f"{bench.phone_address}{bench.sessions.phone_key}"


def _svg(address: str) -> Response:
    return Response(square_code(address), media_type="image/svg+xml", headers={"cache-control": "no-store"})
