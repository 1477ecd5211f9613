"""The serial link against a real pty."""

from __future__ import annotations

import asyncio
import os
import threading
import time
from pathlib import Path

import pytest

from feltload.acquisition.errors import LinkError, LinkReason
from feltload.acquisition.links.devices import listen
from feltload.acquisition.links.serial import SerialLink, open_port
from feltload.acquisition.links.watchdog import next_arrival
from feltload.acquisition.wire.descriptions.link_config import SerialLinkConfig


async def read_bytes(link: SerialLink, count: int) -> bytes:
    data = b""
    while len(data) < count:
        data += (await next_arrival(link, silence_s=2.0)).data
    return data


def test_every_byte_arrives_in_order(board) -> None:
    sent = bytes(range(256)) * 400

    async def run() -> bytes:
        async with SerialLink(str(board.port)) as link:
            sender = threading.Thread(target=board.send, args=(sent,))
            sender.start()
            received = await read_bytes(link, len(sent))
            sender.join()
            assert link.dropped == 0
            return received

    assert asyncio.run(run()) == sent


def test_bytes_are_gathered_and_stamped_with_the_last(board) -> None:
    """60 frames sent over 60 ms come as a few arrivals, not as 60; a lone one is stamped when it came."""

    async def run() -> None:
        async with SerialLink(str(board.port), gather_s=0.02) as link:

            def send() -> None:
                for _ in range(60):
                    board.send(b"frame")
                    time.sleep(0.001)

            sender = threading.Thread(target=send)
            sender.start()
            arrivals = [await next_arrival(link, silence_s=2.0)]
            while sum(len(arrival.data) for arrival in arrivals) < 300:
                arrivals.append(await next_arrival(link, silence_s=2.0))
            sender.join()
            assert len(arrivals) <= 12
            stamps = [arrival.host_ns for arrival in arrivals]
            assert stamps == sorted(stamps)

            sent_ns = time.monotonic_ns()
            board.send(b"alone")
            alone = await next_arrival(link, silence_s=2.0)
            # Taken a gathering time later, but stamped when it came.
            assert time.monotonic_ns() - sent_ns > 15e6
            assert alone.host_ns - sent_ns < 15e6

    asyncio.run(run())


def test_a_stalled_loop_costs_arrivals_not_memory(board) -> None:
    async def run() -> None:
        async with SerialLink(str(board.port), gather_s=0.001, capacity=5) as link:

            def send() -> None:
                for index in range(20):
                    board.send(bytes([index]))
                    time.sleep(0.005)

            sender = threading.Thread(target=send)
            sender.start()
            time.sleep(0.3)  # noqa: ASYNC251 - a loop that hangs is what is tested
            sender.join()
            # On a busy machine an arrival may hold several bytes; five arrivals are kept, in order.
            assert link.backlog == 5
            assert 1 <= link.dropped <= 15
            kept = b"".join([(await next_arrival(link, silence_s=2.0)).data for _ in range(5)])
            assert kept == bytes(range(len(kept)))
            assert len(kept) < 20

    asyncio.run(run())


def test_unplugged_is_lost_after_what_came_before(board) -> None:
    async def run() -> None:
        async with SerialLink(str(board.port)) as link:
            board.send(b"last words")
            await asyncio.sleep(0.05)
            board.unplug()
            assert (await next_arrival(link, silence_s=2.0)).data == b"last words"
            with pytest.raises(LinkError, match="serial port was lost") as caught:
                await next_arrival(link, silence_s=2.0)
            assert caught.value.reason is LinkReason.LOST
            assert str(board.port) in str(caught.value)

    asyncio.run(run())


def test_a_silent_sensor_is_named(board) -> None:
    async def run() -> None:
        async with SerialLink(str(board.port)) as link:
            with pytest.raises(LinkError, match=r"sent nothing in 0\.1 s") as caught:
                await next_arrival(link, silence_s=0.1, ever_sent=False)
            assert caught.value.reason is LinkReason.SILENT

    asyncio.run(run())


async def open_and_close(name: str, baud: int = 115_200) -> None:
    async with SerialLink(name, baud):
        pass


def test_missing_port(tmp_path: Path) -> None:
    with pytest.raises(LinkError, match=r"no such serial port; plug the sensor in") as caught:
        asyncio.run(open_and_close(str(tmp_path / "nothing")))
    assert caught.value.reason is LinkReason.NOT_FOUND


def test_busy_port(board) -> None:
    async def run() -> None:
        async with SerialLink(str(board.port)):
            await open_and_close(str(board.port))

    with pytest.raises(LinkError, match="in use by another program") as caught:
        asyncio.run(run())
    assert caught.value.reason is LinkReason.BUSY


def test_forbidden_port(board) -> None:
    port = os.path.realpath(board.port)
    Path(port).chmod(0)
    root = os.geteuid() == 0
    try:
        if root:  # may open every port, so be somebody else for a moment
            os.seteuid(65534)
        with pytest.raises(LinkError, match="no permission") as caught:
            asyncio.run(open_and_close(port))
    finally:
        if root:
            os.seteuid(0)
    assert caught.value.reason is LinkReason.PERMISSION


def test_not_a_serial_port(tmp_path: Path) -> None:
    path = tmp_path / "notes.txt"
    path.write_text("not a port")
    with pytest.raises(LinkError, match="check that it is a serial port") as caught:
        asyncio.run(open_and_close(str(path)))
    assert caught.value.reason is LinkReason.UNSUPPORTED


def test_connect_and_disconnect_a_hundred_times(board) -> None:
    async def run() -> None:
        for index in range(100):
            async with SerialLink(str(board.port)) as link:
                board.send(bytes([index]))
                assert await read_bytes(link, 1) == bytes([index])
        assert asyncio.all_tasks() == {asyncio.current_task()}

    descriptors = open_descriptors()
    asyncio.run(run())
    assert open_descriptors() == descriptors


def open_descriptors() -> int:
    """Files this process holds open, where the system tells."""
    listing = Path("/proc/self/fd")
    return len(list(listing.iterdir())) if listing.exists() else 0


def test_commands_are_sent_when_a_port_opens_and_closes(board):
    line = SerialLinkConfig(baud=9600, start="stream 1\r\n", stop="hex:FF 00")
    asyncio.run(listen(SerialLink(str(board.port), line=line), 0.1))
    assert os.read(board._descriptors[0], 100) == b"stream 1\r\n\xff\x00"


def test_a_port_is_opened_as_the_line_is_described(board):
    line = SerialLinkConfig(baud=9600, bits=7, parity="even", stop_bits=2, rts=False, dtr=False)
    port = open_port(str(board.port), line, timeout_s=0.01)
    assert (port.baudrate, port.bytesize, port.parity, port.stopbits) == (9600, 7, "E", 2)
    assert (port.rts, port.dtr, port.exclusive) == (False, False, True)
    port.close()
