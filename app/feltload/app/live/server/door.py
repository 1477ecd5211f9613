"""The ways in: a key that opens a session, and the page that asks for the code."""

from __future__ import annotations

from urllib.parse import parse_qs

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from jinja2 import Environment, PackageLoader, StrictUndefined

from feltload.app.live.server.guard import token_of
from feltload.app.live.server.sessions import SESSION_S, Role, Sessions
from feltload.app.text.live import joining as words

_HOME = "/"


def door(sessions: Sessions, cookie: str) -> APIRouter:
    """Routes that need no session.

    Parameters
    ----------
    sessions : Sessions
    cookie : str
        Its name. What was opened over TLS is sent over TLS only.
    """
    router = APIRouter()
    templates = Environment(
        loader=PackageLoader("feltload.app.live.server", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
    )

    def admit(request: Request, token: str) -> Response:
        response = RedirectResponse(_HOME, status_code=303)
        secure = request.url.scheme == "https"
        response.set_cookie(
            cookie, token, max_age=int(SESSION_S), httponly=True, samesite="lax", secure=secure, path="/"
        )
        return response

    def ask(request: Request, *, trouble: str = "", status: int = 200) -> Response:
        role = sessions.role(token_of(request.headers, cookie))
        page = templates.get_template("join.html").render(
            words=words, trouble=trouble, watches=role is Role.VIEW
        )
        return HTMLResponse(page, status_code=status, headers={"cache-control": "no-store"})

    @router.get("/open")
    async def open_by_key(request: Request, key: str = "") -> Response:
        token = sessions.open(key)
        return RedirectResponse("/join", status_code=303) if token is None else admit(request, token)

    @router.get("/join")
    async def join_page(request: Request) -> Response:
        return ask(request)

    @router.post("/join")
    async def join_by_code(request: Request) -> Response:
        address = "" if request.client is None else request.client.host
        if sessions.must_wait(address):
            return ask(request, trouble=words.TOO_MANY_TRIES, status=429)
        typed = parse_qs((await request.body()).decode("utf-8", "replace")).get("code", [""])[0]
        token = sessions.join(typed, address)
        return ask(request, trouble=words.WRONG_CODE, status=403) if token is None else admit(request, token)

    return router
