"""Sensors over TCP, UDP, a program's output and the Lab Streaming Layer: real sockets and processes."""

from __future__ import annotations

import asyncio
import contextlib
import socket
import sys
import threading
import time
import uuid

import pytest

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.devices import listen
from feltload.acquisition.links.link import Arrival, LinkDown, LinkUp
from feltload.acquisition.links.program import ProgramLink
from feltload.acquisition.links.reconnection import BackOff, Reconnection
from feltload.acquisition.links.sockets import TcpLink, UdpLink
from feltload.acquisition.wire.descriptions.link_config import (
    LslLinkConfig,
    ProgramLinkConfig,
    TcpLinkConfig,
    UdpLinkConfig,
)
from needs import require


@contextlib.contextmanager
def tcp_board(serve):
    """A board on the network: `serve` is called with each connection."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(20.0)

        def run():
            with contextlib.suppress(OSError):
                while True:
                    connection, _ = server.accept()
                    with connection:
                        serve(connection)

        thread = threading.Thread(target=run, daemon=True)
        thread.start()
        yield TcpLinkConfig(type="tcp", host="127.0.0.1", port=server.getsockname()[1])
        server.close()


def free_port() -> int:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


async def events_until(source, enough, **patience):
    """What a connection gives until `enough` of it is there."""
    got = []
    reconnection = Reconnection(source, back_off=BackOff(first_s=0.02, longest_s=0.1), **patience)
    async with asyncio.timeout(30.0), contextlib.aclosing(reconnection.run()) as events:
        async for event in events:
            got.append(event)
            if enough(got):
                return got
    raise AssertionError(got)


def received(events) -> bytes:
    return b"".join(event.data for event in events if isinstance(event, Arrival))


def test_tcp_start_command_loss_and_return():
    heard = []

    def serve(connection):
        heard.append(connection.recv(100))
        connection.sendall(b"1,2\n3,4\n")

    with tcp_board(serve) as described:
        described = described.model_copy(update={"start": "go\r\n"})
        events = asyncio.run(
            events_until(lambda: TcpLink(described), lambda got: any(isinstance(e, LinkUp) for e in got))
        )
    down = next(event for event in events if isinstance(event, LinkDown))
    assert down.error.reason is LinkReason.LOST
    assert "closed the connection" in down.error.what
    assert received(events).startswith(b"1,2\n3,4\n")
    assert heard[:2] == [b"go\r\n", b"go\r\n"]


def test_tcp_stop_command():
    heard = []
    done = threading.Event()

    def serve(connection):
        connection.sendall(b"x")
        heard.append(connection.recv(100))
        done.set()

    with tcp_board(serve) as described:
        described = described.model_copy(update={"stop": "hex:FF 00"})
        assert asyncio.run(listen(TcpLink(described), 0.2))[0][1] == b"x"
        assert done.wait(10.0)
    assert heard == [b"\xff\x00"]


def test_nobody_at_a_tcp_port_is_one_line():
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
    with pytest.raises(LinkError, match=r"tcp://127\.0\.0\.1:\d+: cannot be connected") as caught:
        asyncio.run(listen(TcpLink(TcpLinkConfig(type="tcp", host="127.0.0.1", port=port)), 0.2))
    assert caught.value.reason is LinkReason.NOT_FOUND


def test_udp_a_datagram_is_a_message_and_others_are_left_out():
    described = UdpLinkConfig(type="udp", port=free_port(), host="127.0.0.1")

    def send():
        with (
            socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as board,
            socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as other,
        ):
            other.bind(("127.0.0.2", 0))
            for k in range(20):
                board.sendto(bytes([k]) * 3, ("127.0.0.1", described.port))
                other.sendto(b"other", ("127.0.0.1", described.port))
                time.sleep(0.01)

    async def run():
        thread = threading.Timer(0.2, send)
        thread.start()
        messages = await listen(UdpLink(described), 1.0)
        thread.join()
        return messages

    messages = [data for _, data in asyncio.run(run())]
    assert messages == [bytes([k]) * 3 for k in range(20)]


def test_udp_commands_go_to_the_board():
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as board:
        board.bind(("127.0.0.1", 0))
        board.settimeout(10.0)
        described = UdpLinkConfig(
            type="udp",
            port=free_port(),
            host="127.0.0.1",
            board_port=board.getsockname()[1],
            start="on",
            stop="off",
        )
        asyncio.run(listen(UdpLink(described), 0.05))
        assert [board.recv(10), board.recv(10)] == [b"on", b"off"]
        with pytest.raises(LinkError, match="cannot be listened to"):
            taken = described.model_copy(update={"port": board.getsockname()[1]})
            asyncio.run(listen(UdpLink(taken), 0.05))


PRINTER = "import sys, time\nfor k in range(200): print(k, flush=True); time.sleep(0.005)\nsys.exit('out of battery')"


def test_a_program_that_ends_is_run_again():
    described = ProgramLinkConfig(type="program", command=(sys.executable, "-c", PRINTER))
    events = asyncio.run(
        events_until(
            lambda: ProgramLink(described),
            lambda got: any(isinstance(e, LinkUp) for e in got) and isinstance(got[-1], Arrival),
            first_silence_s=20.0,
            silence_s=10.0,
        )
    )
    down = next(event for event in events if isinstance(event, LinkDown))
    assert down.error.what == "the program ended with code 1: out of battery"
    before = events[: events.index(down)]
    assert received(before).split() == [str(k).encode() for k in range(200)]


def test_a_program_gets_its_start_command_and_is_ended():
    echo = "import sys\nfor line in sys.stdin: print('got', line.strip(), flush=True)"
    described = ProgramLinkConfig(type="program", command=(sys.executable, "-c", echo), start="begin\n")
    messages = asyncio.run(listen(ProgramLink(described), 2.0))
    assert b"".join(data for _, data in messages).split() == [b"got", b"begin"]


def test_a_program_that_is_not_there():
    with pytest.raises(LinkError, match="no-such-program: cannot be run") as caught:
        asyncio.run(listen(ProgramLink(ProgramLinkConfig(type="program", command=("no-such-program",))), 0.1))
    assert caught.value.reason is LinkReason.NOT_FOUND


def test_an_outlet_of_the_lab_streaming_layer():
    require("lsl")
    import pylsl

    from feltload.acquisition import decode
    from feltload.acquisition.guessing.guess import guess_outlet
    from feltload.acquisition.links.lsl import LslLink, lsl_outlets
    from feltload.acquisition.wire.descriptions.schema import StreamDescription

    name = f"cell-{uuid.uuid4().hex[:8]}"
    outlet = pylsl.StreamOutlet(pylsl.StreamInfo(name, "Force", 2, 100.0, "float32", f"source-{name}"))
    halt = threading.Event()

    def send():
        k = 0
        while not halt.wait(0.01):
            outlet.push_sample([float(k), 0.5 * k], 1000.0 + 0.01 * k)
            k += 1

    thread = threading.Thread(target=send)
    thread.start()
    try:
        assert name in {item.name for item in lsl_outlets(2.0)}
        messages = asyncio.run(listen(LslLink(LslLinkConfig(type="lsl", outlet=name)), 1.5))
        with pytest.raises(LinkError, match="no outlet of that name"):
            asyncio.run(listen(LslLink(LslLinkConfig(type="lsl", outlet=name, source_id="other")), 0.1))
    finally:
        halt.set()
        thread.join()
    assert [stream.description.kind for stream in guess_outlet(messages).streams] == ["force"]
    description = StreamDescription(
        name="cell",
        kind="force",
        framing="notification",
        records=[
            {"name": "device_time", "type": "f64", "unit": "s"},
            {"name": "other", "type": "f64"},
            {"name": "force", "type": "f64", "unit": "N"},
        ],
    )
    frame = decode(messages, description).frame
    assert len(frame) > 20
    assert frame["device_s"].to_numpy() == pytest.approx(1000.0 + 0.02 * frame["force_n"].to_numpy())
