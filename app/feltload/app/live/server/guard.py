"""Stands before every page and socket: whose request it is, what its session allows, what the browser must refuse."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any

from feltload.app.live.server.headers import BASE, document_policy, new_nonce, page_policy, with_nonce
from feltload.app.live.server.origins import Origins
from feltload.app.live.server.sessions import Role, Sessions

PHONE = "/phone"
"""Below it a phone's page sends motion; what is there needs another session, with a cookie of its own."""
PHONE_DOOR = f"{PHONE}/open"
OPEN_PATHS = ("/open", "/join", PHONE_DOOR)
ASSETS = "/assets/"
LARGEST_BODY = 65_536
WENT_AWAY = "No response returned."
"""What Starlette raises when the browser leaves before its answer."""

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Asgi = Callable[[Scope, Receive, Send], Awaitable[None]]


class Guard:
    """ASGI middleware around everything that is served.

    Parameters
    ----------
    app : ASGI application
    origins : Origins
    sessions : Sessions
    """

    def __init__(self, app: Asgi, origins: Origins, sessions: Sessions) -> None:
        self._app, self._origins, self._sessions = app, origins, sessions
        self._cookie = cookie_name(origins.port)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or refuse it."""
        if scope["type"] not in ("http", "websocket"):
            await self._app(scope, receive, send)
            return
        headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        method = scope.get("method", "WEBSOCKET")
        if not self._origins.knows_host(headers):
            await _refuse(scope, send, 421, "this address is not served here")
        elif not self._origins.allows(method, headers):
            await _refuse(scope, send, 403, "another site may not do this")
        elif "transfer-encoding" in headers or int(headers.get("content-length", "0")) > LARGEST_BODY:
            await _refuse(scope, send, 413, "too long, or of unknown length")
        elif self._needs_session(scope["path"]) and not self._is_let_in(scope["path"], headers):
            await self._to_the_door(scope, send, headers)
        else:
            await self._pass(scope, receive, send)

    @staticmethod
    def _needs_session(path: str) -> bool:
        return path not in OPEN_PATHS and not path.startswith(ASSETS)

    def _is_let_in(self, path: str, headers: Mapping[str, str]) -> bool:
        if _is_phones(path):
            token = token_of(headers, phone_cookie_name(self._origins.port))
            return self._sessions.role(token) is Role.MOTION
        return self._sessions.role(token_of(headers, self._cookie)) >= Role.VIEW

    @staticmethod
    async def _to_the_door(scope: Scope, send: Send, headers: dict[str, str]) -> None:
        if scope["type"] == "http" and "text/html" in headers.get("accept", ""):
            door = PHONE_DOOR if _is_phones(scope["path"]) else "/join"
            await _answer(send, 303, [(b"location", door.encode())], b"")
        else:
            await _refuse(scope, send, 401, "the session is over; open the page again")

    async def _pass(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "websocket":
            await self._app(scope, receive, send)
            return
        is_page = not scope["path"].startswith(("/_nicegui", ASSETS))
        # What a proxy would say is reflected into pages, and there is no proxy. A page gets its nonce uncompressed.
        dropped = {b"x-forwarded-prefix", *((b"accept-encoding",) if is_page else ())}
        scope = {**scope, "headers": [pair for pair in scope["headers"] if pair[0] not in dropped]}
        try:
            await self._app(scope, receive, _Marked(send).send if is_page else _with_headers(send))
        except RuntimeError as error:
            if str(error) != WENT_AWAY:
                raise


class _Marked:
    """An answer on its way: a page waits until it is whole, gets its nonce and its policy; the rest passes."""

    def __init__(self, send: Send) -> None:
        self._send = send
        self._start: Message | None = None
        self._body = b""

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            kept = dict(message["headers"])
            kind = kept.get(b"content-type", b"")
            if not kind.startswith(b"text/html") or b"content-security-policy" in kept:
                await _with_headers(self._send)(message)
            else:
                self._start = message
        elif self._start is None:
            await self._send(message)
        else:
            self._body += message.get("body", b"")
            if not message.get("more_body", False):
                await self._send_page(self._start)

    async def _send_page(self, start: Message) -> None:
        nonce = new_nonce()
        page = with_nonce(self._body, nonce)
        kept = [pair for pair in start["headers"] if pair[0] != b"content-length"]
        kept += [
            (b"content-length", str(len(page)).encode()),
            (b"content-security-policy", page_policy(nonce).encode()),
        ]
        await _with_headers(self._send)({**start, "headers": kept})
        await self._send({"type": "http.response.body", "body": page})


def cookie_name(port: int) -> str:
    """Name of the session's cookie: browsers do not tell cookies of two ports apart."""
    return f"feltload-{port}"


def phone_cookie_name(port: int) -> str:
    """Name of the cookie of a phone that sends motion: it may watch as well."""
    return f"feltload-phone-{port}"


def _is_phones(path: str) -> bool:
    return path == PHONE or path.startswith(f"{PHONE}/")


def token_of(headers: Mapping[str, str], cookie: str) -> str:
    """The session's token that a request carries; empty without one."""
    try:
        morsel = SimpleCookie(headers.get("cookie", "")).get(cookie)
    except CookieError:
        return ""
    return "" if morsel is None else morsel.value


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            kept = list(message["headers"])
            there = {name for name, _ in kept}
            added = {**BASE, "content-security-policy": document_policy()}
            kept += [(k.encode(), v.encode()) for k, v in added.items() if k.encode() not in there]
            message = {**message, "headers": kept}
        await send(message)

    return sending


async def _refuse(scope: Scope, send: Send, status: int, reason: str) -> None:
    if scope["type"] == "websocket":
        # Closing before accepting is answered with 403.
        await send({"type": "websocket.close", "code": 1008, "reason": reason})
        return
    await _answer(send, status, [(b"content-type", b"text/plain; charset=utf-8")], f"{reason}\n".encode())


async def _answer(send: Send, status: int, headers: list[tuple[bytes, bytes]], body: bytes) -> None:
    length = (b"content-length", str(len(body)).encode())
    await _with_headers(send)(
        {"type": "http.response.start", "status": status, "headers": [*headers, length]}
    )
    await send({"type": "http.response.body", "body": body})
