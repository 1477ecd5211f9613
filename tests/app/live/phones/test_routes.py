"""Who may send motion, and what a session that may cannot: over real TLS sockets."""

from __future__ import annotations

import asyncio
import html
import http.client
import json
import ssl
import threading
from dataclasses import dataclass

import pytest
from fastapi import FastAPI, Response
from websockets.exceptions import ConnectionClosed, InvalidStatus
from websockets.sync.client import ClientConnection, connect

from feltload.app.errors import AppError
from feltload.app.live.phones.hub import Phones
from feltload.app.live.phones.routes import phone_router
from feltload.app.live.server.address import bind
from feltload.app.live.server.certificate import OwnCertificate, own_certificate
from feltload.app.live.server.door import door
from feltload.app.live.server.guard import Guard, cookie_name, phone_cookie_name
from feltload.app.live.server.origins import Origins
from feltload.app.live.server.serving import Place, serve
from feltload.app.live.server.sessions import Sessions
from feltload.app.text.live import phones as words

OTHER = "127.0.0.2"
ROW = [0, 100.0, 0.1, 0.2, 9.8, 1.0, 2.0, 3.0, 16.7]

pytestmark = pytest.mark.timeout(300)


@dataclass
class Served:
    port: int
    sessions: Sessions
    phones: Phones
    kept: OwnCertificate

    @property
    def trust(self) -> ssl.SSLContext:
        return ssl.create_default_context(cafile=str(self.kept.certificate))

    def ask(self, path: str, cookie: str = "") -> http.client.HTTPResponse:
        connection = http.client.HTTPSConnection(OTHER, self.port, timeout=60, context=self.trust)
        connection.request("GET", path, headers={"Cookie": cookie} if cookie else {})
        answer = connection.getresponse()
        answer.text = html.unescape(answer.read().decode())  # type: ignore[attr-defined]
        connection.close()
        return answer

    def post(
        self, sent: str, cookie: str, origin: str | None = None, *, again: bool = False
    ) -> tuple[int, str]:
        connection = http.client.HTTPSConnection(OTHER, self.port, timeout=60, context=self.trust)
        headers = {"Cookie": cookie, "Origin": origin or f"https://{OTHER}:{self.port}"}
        connection.request("POST", f"/phone/motion{'?again=1' if again else ''}", sent.encode(), headers)
        answer = connection.getresponse()
        told = answer.status, answer.read().decode()
        connection.close()
        return told

    def let_in(self) -> str:
        answer = self.ask(f"/phone/open?key={self.sessions.phone_key}")
        assert (answer.status, answer.getheader("location")) == (303, "/phone")
        return str(answer.getheader("set-cookie")).partition(";")[0]

    def send(self, cookie: str, origin: str | None = None) -> ClientConnection:
        return connect(
            f"wss://{OTHER}:{self.port}/phone/motion",
            ssl=self.trust,
            origin=origin or f"https://{OTHER}:{self.port}",  # type: ignore[arg-type]
            additional_headers={"Cookie": cookie},
            open_timeout=60,
        )


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Served:
    try:
        own, *listeners = bind(0, (OTHER,))
    except AppError:
        pytest.skip("this system has no second loopback address")
    own.close()
    port = listeners[0].getsockname()[1]
    sessions, phones = Sessions(shared=True), Phones()
    kept = own_certificate([OTHER], folder=tmp_path_factory.mktemp("tls"))
    app = FastAPI()
    app.include_router(door(sessions, cookie_name(port)))
    app.include_router(phone_router(phones, sessions, port))

    @app.get("/measure")
    async def page() -> Response:
        return Response("what is measured", media_type="text/html")

    place = Place(Guard(app, Origins("https", port, (OTHER,)), sessions), listeners, kept)
    ready = threading.Event()
    threading.Thread(target=lambda: asyncio.run(serve(place, None, ready=ready.set)), daemon=True).start()
    assert ready.wait(60)
    return Served(port, sessions, phones, kept)


def test_the_link_lets_one_phone_in_and_says_so_to_the_next(served: Served) -> None:
    key = served.sessions.phone_key
    cookie = served.let_in()
    assert words.START in served.ask("/phone", cookie).text  # type: ignore[attr-defined]
    again = served.ask(f"/phone/open?key={key}")
    assert again.status == 403 and words.USED_UP in again.text  # type: ignore[attr-defined]
    # Who was let in by it may open it again.
    assert served.ask(f"/phone/open?key={key}", cookie).status == 303
    assert served.ask("/phone/open?key=wrong").status == 403


def test_a_phone_sees_nothing_and_a_viewer_sends_nothing(served: Served) -> None:
    token = served.let_in().partition("=")[2]
    own = cookie_name(served.port)
    assert served.ask("/measure", f"{own}={token}").status == 401
    watching = served.ask(f"/open?key={served.sessions.view_key}")
    viewer = str(watching.getheader("set-cookie")).partition(";")[0].partition("=")[2]
    assert served.ask("/measure", f"{own}={viewer}").status == 200
    for cookie in ("", f"{phone_cookie_name(served.port)}={viewer}", f"{own}={token}"):
        with pytest.raises(InvalidStatus) as refused:
            served.send(cookie)
        assert refused.value.response.status_code == 403


def test_another_site_cannot_send_motion(served: Served) -> None:
    with pytest.raises(InvalidStatus) as refused:
        served.send(served.let_in(), "https://elsewhere.example")
    assert refused.value.response.status_code == 403


def test_motion_arrives_and_the_page_is_told_what_is_missing(served: Served) -> None:
    with served.send(served.let_in()) as socket:
        socket.send(json.dumps({"m": [[n, 16.7 * n, *ROW[2:]] for n in range(60)]}))
        told = json.loads(socket.recv(60))
        while "Motion arrives" not in told["lines"][0]:
            told = json.loads(socket.recv(60))
        assert told["flat"] and len(told["steps"]) == 4
        assert served.phones.known[told["name"]].state.sending


@pytest.mark.parametrize("sent", ["garbage", b"\x00\x01", "x" * 40_000, '{"m": [[1]]}'])
def test_a_message_that_is_none_ends_the_socket_and_says_why(served: Served, sent: str | bytes) -> None:
    with served.send(served.let_in()) as socket:
        socket.send(sent)
        with pytest.raises(ConnectionClosed) as closed:
            while True:
                socket.recv(60)
    frame = closed.value.rcvd
    assert frame is not None and frame.code == 1007 and "refused" in frame.reason


def test_where_no_socket_opens_requests_are_taken_and_counted_alike(served: Served) -> None:
    cookie = served.let_in()
    rows = [[n, 16.7 * n, *ROW[2:]] for n in range(60)]
    status, text = served.post(json.dumps({"m": rows[:40]}), cookie)
    assert (status, json.loads(text)["heard"]) == (200, 39)
    # An answer that was lost on the way: what is sent again counts once.
    _, text = served.post(json.dumps({"m": rows[20:], "lost": 3}), cookie, again=True)
    told = json.loads(text)
    assert told["heard"] == 59 and "Motion arrives" in told["lines"][0]
    state = served.phones.known[told["name"]].state
    assert state.connected and state.sending and state.lost == 3
    assert state.rate_hz == pytest.approx(1e3 / 16.7, rel=0.01)


def test_requests_of_who_was_not_let_in_or_of_another_site_are_refused(served: Served) -> None:
    watching = served.ask(f"/open?key={served.sessions.view_key}")
    viewer = str(watching.getheader("set-cookie")).partition(";")[0].partition("=")[2]
    for cookie in ("", f"{phone_cookie_name(served.port)}={viewer}"):
        assert served.post('{"m": []}', cookie)[0] == 401
    assert served.post('{"m": []}', served.let_in(), "https://elsewhere.example")[0] == 403


@pytest.mark.parametrize("sent", ["garbage", "x" * 40_000, '{"m": [[1]]}'])
def test_a_request_that_is_none_is_refused_and_says_why(served: Served, sent: str) -> None:
    status, text = served.post(sent, served.let_in())
    assert status == 400 and "refused" in text
