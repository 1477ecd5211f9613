"""What a running server answers, over real sockets: to its own pages, and to everybody else."""

from __future__ import annotations

import asyncio
import http.client
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import urlencode

import pytest
import uvicorn
from fastapi import FastAPI, Response, WebSocket
from websockets.exceptions import InvalidStatus
from websockets.sync.client import connect

from feltload.app.live.server.address import LOOPBACK, bind
from feltload.app.live.server.door import door
from feltload.app.live.server.guard import Guard, cookie_name
from feltload.app.live.server.origins import Origins
from feltload.app.live.server.serving import assets
from feltload.app.live.server.sessions import Sessions
from feltload.app.text.live import joining


@dataclass
class Answer:
    status: int
    headers: dict[str, str]
    body: str

    @property
    def cookie(self) -> str:
        return self.headers.get("set-cookie", "").partition(";")[0]


class Running:
    """A server on a port of its own, in a thread of its own."""

    def __init__(self) -> None:
        self.listener = bind(0)[0]
        self.port = self.listener.getsockname()[1]
        self.sessions = Sessions(shared=True)
        origins = Origins("http", self.port)
        app = FastAPI()
        app.include_router(door(self.sessions, cookie_name(self.port)))
        app.include_router(assets())

        @app.get("/")
        async def page() -> Response:
            return Response('<!doctype html><script>say("x")</script>', media_type="text/html")

        @app.websocket("/stream")
        async def stream(socket: WebSocket) -> None:
            await socket.accept()
            await socket.send_text("hello")
            await socket.close()

        self.server = uvicorn.Server(uvicorn.Config(Guard(app, origins, self.sessions), log_level="warning"))
        self.listener.listen()
        self.thread = threading.Thread(
            target=lambda: asyncio.run(self.server.serve(sockets=[self.listener])), daemon=True
        )
        self.thread.start()

    @property
    def own(self) -> str:
        return f"{LOOPBACK}:{self.port}"

    def ask(self, path: str, method: str = "GET", body: str | None = None, **headers: str) -> Answer:
        connection = http.client.HTTPConnection(LOOPBACK, self.port, timeout=60)
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        connection.request(method, path, body, {"Host": self.own, "Connection": "close", **named})
        answer = connection.getresponse()
        seen = Answer(
            answer.status,
            {k.lower(): v for k, v in answer.getheaders()},
            answer.read().decode("utf-8", "replace"),
        )
        connection.close()
        return seen

    def enter(self, key: str) -> str:
        return self.ask(f"/open?{urlencode({'key': key})}").cookie

    def join(self, code: str, origin: str | None = None) -> Answer:
        return self.ask(
            "/join",
            "POST",
            urlencode({"code": code}),
            Origin=f"http://{self.own}" if origin is None else origin,
            Content_Type="application/x-www-form-urlencoded",
        )


@pytest.fixture(scope="module")
def running() -> Iterator[Running]:
    server = Running()
    yield server
    server.server.should_exit = True
    server.thread.join(60)


def test_without_a_session_there_is_only_the_door(running: Running) -> None:
    sent_away = running.ask("/", Accept="text/html")
    assert (sent_away.status, sent_away.headers["location"]) == (303, "/join")
    assert running.ask("/anything").status == 401
    assert joining.ASK in running.ask("/join").body


def test_the_key_opens_once_and_leaves_no_trace_in_the_address(running: Running) -> None:
    key = running.sessions.own_key
    first = running.ask(f"/open?key={key}")
    assert (first.status, first.headers["location"]) == (303, "/")
    assert "httponly" in first.headers["set-cookie"].lower()
    assert "samesite=lax" in first.headers["set-cookie"].lower()
    assert running.ask("/", Cookie=first.cookie).status == 200
    assert running.ask(f"/open?key={key}").headers["location"] == "/join"


def test_a_page_runs_only_its_own_scripts(running: Running) -> None:
    cookie = running.enter(running.sessions.view_key)
    first, second = (running.ask("/", Cookie=cookie) for _ in range(2))
    policy = first.headers["content-security-policy"]
    nonce = policy.split("'nonce-")[1].split("'")[0]
    assert f'<script nonce="{nonce}">' in first.body
    assert "unsafe-eval" not in policy
    assert "script-src 'self' 'nonce-" in policy and "'unsafe-inline'" not in policy.split("script-src")[1]
    assert nonce not in second.headers["content-security-policy"]
    assert first.headers["x-content-type-options"] == "nosniff"


def test_names_of_other_sites_are_not_served(running: Running) -> None:
    cookie = running.enter(running.sessions.view_key)
    assert running.ask("/", Cookie=cookie, Host=f"rebound.example:{running.port}").status == 421


def test_another_site_can_neither_join_nor_listen(running: Running) -> None:
    assert running.join(running.sessions.code, "https://elsewhere.example").status == 403
    cookie = running.enter(running.sessions.view_key)
    address = f"ws://{running.own}/stream"
    with connect(address, origin=f"http://{running.own}", additional_headers={"Cookie": cookie}) as socket:
        assert socket.recv() == "hello"
    for origin, kept in (("https://elsewhere.example", cookie), (f"http://{running.own}", "")):
        with pytest.raises(InvalidStatus) as refused:
            connect(address, origin=origin, additional_headers={"Cookie": kept})
        assert refused.value.response.status_code == 403


def test_no_file_of_the_disk_is_served(running: Running) -> None:
    cookie = running.enter(running.sessions.view_key)
    assert running.ask("/assets/live.css").status == 200
    for path in (
        "/assets/../serving.py",
        "/assets/..%2f__init__.py",
        "/assets/%2fetc%2fpasswd",
        "/../pyproject.toml",
    ):
        assert running.ask(path, Cookie=cookie).status in (400, 404), path


def test_bodies_that_are_long_or_endless_are_refused(running: Running) -> None:
    assert running.join("A" * 100_000).status == 413
    own = f"http://{running.own}"
    assert running.ask("/join", "POST", "", Origin=own, Transfer_Encoding="chunked").status in (400, 413)


def test_wrong_codes_are_refused_and_then_have_to_wait(running: Running) -> None:
    right = running.sessions.code
    wrong = running.join("AAAA AAAA")
    assert wrong.status == 403 and joining.WRONG_CODE in wrong.body
    answers = [running.join("AAAA AAAA").status for _ in range(8)]
    assert answers[-1] == 429
    # The right one waits too: otherwise waiting would tell nothing from something.
    assert running.join(right).status == 429
    assert running.sessions.code == right
