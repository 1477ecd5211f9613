"""What a phone asks for: its page, the way in to it, and the socket, or the requests, that it sends on."""

from __future__ import annotations

import asyncio
import json
from contextlib import suppress

from fastapi import APIRouter, Request, WebSocket
from fastapi.responses import HTMLResponse, JSONResponse, PlainTextResponse, RedirectResponse, Response
from jinja2 import Environment, PackageLoader, StrictUndefined

from feltload.app.live.phones.hub import Phones
from feltload.app.live.phones.message import MessageError, parse_message
from feltload.app.live.phones.phone import Phone
from feltload.app.live.server.guard import PHONE, phone_cookie_name, token_of
from feltload.app.live.server.sessions import SESSION_S, Role, Sessions
from feltload.app.text.live import phones as words

TELL_S = 0.5
REFUSED, OVER = 1007, 1008
"""Why a socket is closed: a message that is none; the session is over."""
_AGAIN = "again"


def phone_router(phones: Phones, sessions: Sessions, port: int) -> APIRouter:
    """Routes below `PHONE`; the guard has let in whose session sends motion, and the way in is open."""
    router = APIRouter()
    cookie = phone_cookie_name(port)
    templates = Environment(
        loader=PackageLoader("feltload.app.live.phones", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
    )

    def page(*, let_in: bool, status: int = 200) -> Response:
        text = templates.get_template("phone.html").render(words=words, let_in=let_in)
        return HTMLResponse(text, status_code=status, headers={"cache-control": "no-store"})

    @router.get(f"{PHONE}/open")
    async def open_by_key(request: Request, key: str = "") -> Response:
        token = sessions.open_phone(key)
        if token is None:
            # The one who was let in before may open the link again.
            known = sessions.role(token_of(request.headers, cookie)) is Role.MOTION
            return RedirectResponse(PHONE, status_code=303) if known else page(let_in=False, status=403)
        response = RedirectResponse(PHONE, status_code=303)
        secure = request.url.scheme == "https"
        response.set_cookie(
            cookie, token, max_age=int(SESSION_S), httponly=True, samesite="lax", secure=secure, path=PHONE
        )
        return response

    @router.get(PHONE)
    async def phone_page() -> Response:
        return page(let_in=True)

    @router.post(f"{PHONE}/motion")
    async def motion_posted(request: Request) -> Response:
        """What a phone sends whose browser opens no socket here, as some do where nobody signed the certificate."""
        token = token_of(request.headers, cookie)
        phone = phones.of(token)
        try:
            message = parse_message((await request.body()).decode("utf-8", "replace"))
        except MessageError as error:
            return PlainTextResponse(words.refused_text(str(error)), status_code=400)
        if request.query_params.get(_AGAIN) is None:
            phone.started_again()
        phone.posted(message)
        return JSONResponse(_told(phone))

    @router.websocket(f"{PHONE}/motion")
    async def motion(socket: WebSocket) -> None:
        await socket.accept()
        token = token_of(socket.headers, cookie)
        phone = phones.of(token)
        if socket.query_params.get(_AGAIN) is None:
            phone.started_again()
        phone.sockets += 1
        telling = asyncio.create_task(_tell(phones, token, socket))
        try:
            while True:
                came = await socket.receive()
                if came["type"] == "websocket.disconnect":
                    return
                if sessions.role(token) is not Role.MOTION:
                    await socket.close(OVER, words.SESSION_OVER)
                    return
                phone.take(parse_message(came.get("text") or ""))
        except MessageError as error:
            with suppress(RuntimeError):
                await socket.close(REFUSED, words.refused_text(str(error)))
        finally:
            phone.sockets -= 1
            telling.cancel()
            await asyncio.gather(telling, return_exceptions=True)

    return router


async def _tell(phones: Phones, token: str, socket: WebSocket) -> None:
    """Tell the page how it is doing, as long as the socket lasts."""
    phone = phones.of(token)
    while True:
        await socket.send_text(json.dumps(_told(phone)))
        await asyncio.sleep(TELL_S)


def _told(phone: Phone) -> dict[str, object]:
    """How a phone is doing, for its page."""
    phone.look()
    state = phone.state
    return {
        "name": phone.name,
        "heard": phone.newest,
        "lines": words.state_lines(state),
        "steps": [[text, done] for text, done in words.steps(state.recognition)],
        "flat": words.needs_flat(state.recognition),
    }
