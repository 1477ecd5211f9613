"""The recorder's process on real ptys: beside dead and slow listeners, killed pages, and when it is killed itself."""

from __future__ import annotations

import asyncio
import json
import os
import signal
import subprocess
import sys
from collections import Counter
from contextlib import suppress
from dataclasses import replace

import pytest

from feltload.acquisition import read_recording
from feltload.app.errors import AppError
from feltload.app.live.recorder.client import RecorderClient
from feltload.app.live.recorder.guidance import OVERLOAD_NOTE
from feltload.app.live.recorder.messages import Arrived, Ended, Failed, Status, Stop, command_line
from feltload.app.live.recorder.request import request_json
from feltload.app.live.recorder.session_file import SessionFile, running_sessions
from feltload.app.live.state.live_session import LiveSession
from feltload.app.running.marked import Marked
from feltload.app.running.state import LivePhase
from feltload.app.scripts.moment import Ask

pytestmark = [pytest.mark.needs("pty"), pytest.mark.timeout(240)]
PATIENCE_S = 100.0
WANTED = 400


class Heard:
    """What a listener heard, until something has come."""

    def __init__(self, client: RecorderClient) -> None:
        self.client = client
        self._events = client.events()
        self.messages: Counter[str] = Counter()
        self.bytes: dict[str, bytes] = {}
        self.all: list[object] = []

    async def until(self, wanted):
        """The first event from now on of which `wanted` is true."""
        async with asyncio.timeout(PATIENCE_S):
            async for event in self._events:
                if isinstance(event, Arrived):
                    assert event.first == self.messages[event.channel]
                    self.messages[event.channel] += len(event.messages)
                    joined = b"".join(data for _, data in event.messages)
                    self.bytes[event.channel] = self.bytes.get(event.channel, b"") + joined
                self.all.append(event)
                if wanted(event):
                    return event
        raise AssertionError("the events ended before")

    async def end(self):
        return await self.until(lambda event: isinstance(event, Ended | Failed))

    async def asked(self, ask: Ask):
        return await self.until(
            lambda event: isinstance(event, Status) and event.script and event.script.moment.ask is ask
        )

    async def recording(self):
        return await self.until(lambda event: isinstance(event, Status) and event.status.phase == "recording")


def kept(path):
    recording = read_recording(path)
    return {
        name: b"".join(data for _, data in recording.messages(name).pairs()) for name in ("force", "inertial")
    }


def test_a_dead_and_a_late_listener_disturb_nobody(live_rig):
    live_rig.start()

    async def session():
        first = Heard(await RecorderClient.start(live_rig.request))
        file = SessionFile.read(first.client.session)
        assert first.client.session.stat().st_mode & 0o777 == 0o600
        # One that shows the token and never reads, and one that does not know it.
        _, dead = await asyncio.open_connection(file.host, file.port)
        dead.write(json.dumps({"token": file.token}).encode() + b"\n")
        stranger, writer = await asyncio.open_connection(file.host, file.port)
        writer.write(json.dumps({"token": "guessed"}).encode() + b"\n" + command_line(Stop()))
        assert await stranger.read() == b""
        await first.recording()
        late = Heard(await RecorderClient.attach(first.client.session))
        gone = await RecorderClient.attach(first.client.session)
        await gone.close()
        await late.until(lambda event: isinstance(event, Arrived) and late.messages["force"] > 100)
        await late.client.mark("knock")
        await first.until(lambda event: isinstance(event, Marked) and event.kind == "knock")
        await first.client.mark("load", "40 kg: 20 + 20")
        await late.until(lambda event: isinstance(event, Marked) and event.text == "40 kg: 20 + 20")
        await late.client.stop()
        ends = await asyncio.gather(first.end(), late.end())
        for each in (dead, writer):
            each.close()
        for heard in (first, late):
            await heard.client.close()
        return first, late, ends

    first, late, ends = asyncio.run(session())
    path = live_rig.request.out
    assert [end.path for end in ends] == [str(path)] * 2
    # Both heard every byte that is in the file, the late one what was before it too.
    assert first.bytes == late.bytes == kept(path)
    assert [mark.kind for mark in read_recording(path).marks] == ["tare", "knock", "load"]
    assert not running_sessions()


def test_pain_and_overload_stop_the_script_at_once_and_are_marked(live_rig):
    live_rig.start()

    async def session():
        heard = Heard(await RecorderClient.start(live_rig.request))
        await heard.recording()
        live_rig.force_n = 950
        await heard.asked(Ask.OVERLOAD)
        live_rig.force_n = 100
        await heard.until(
            lambda event: isinstance(event, Status) and not any(s.overloaded for s in event.status.streams)
        )
        await heard.client.go_on()
        await heard.asked(Ask.MOVE)
        await heard.client.mark("pain")
        await heard.asked(Ask.PAIN)
        await heard.client.go_on()
        await heard.client.stop()
        await heard.end()
        await heard.client.close()
        return heard

    heard = asyncio.run(session())
    asked = [event.script.moment.ask for event in heard.all if isinstance(event, Status)]
    assert asked[-1] is Ask.PAIN
    marks = [(mark.kind, mark.text) for mark in read_recording(live_rig.request.out).marks]
    assert marks == [("tare", ""), ("note", OVERLOAD_NOTE), ("pain", "")]


PAGE = """
import asyncio, sys
from feltload.app.live.recorder.client import RecorderClient
from feltload.app.live.recorder.messages import Arrived
from feltload.app.live.recorder.request import parse_request

async def page():
    client = await RecorderClient.start(parse_request(sys.stdin.buffer.read()))
    count = 0
    async for event in client.events():
        if isinstance(event, Arrived):
            count += len(event.messages)
            if count > 100:
                print("listening", flush=True)

asyncio.run(page())
"""


def test_a_killed_page_leaves_a_recording_that_another_joins_and_ends(live_rig):
    live_rig.start()
    page = subprocess.Popen([sys.executable, "-c", PAGE], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    with page:
        page.stdin.write(request_json(live_rig.request))
        page.stdin.close()
        assert page.stdout.readline() == b"listening\n"
        page.kill()

    async def another():
        (session,) = running_sessions()
        heard = Heard(await RecorderClient.attach(session))
        before = heard.client
        await heard.until(lambda event: isinstance(event, Arrived) and event.first > 0)
        await before.stop()
        end = await heard.end()
        await before.close()
        return heard, end

    heard, end = asyncio.run(another())
    assert isinstance(end, Ended)
    assert heard.bytes == kept(live_rig.request.out)


def test_a_killed_recorder_is_reported_and_its_file_is_whole_up_to_the_last_second(live_rig):
    live_rig.start()

    async def session():
        heard = Heard(await RecorderClient.start(live_rig.request))
        await heard.until(lambda event: isinstance(event, Arrived) and heard.messages["force"] > WANTED)
        pid = SessionFile.read(heard.client.session).pid
        os.kill(pid, signal.SIGKILL)
        end = await heard.end()
        with pytest.raises(AppError, match="has ended"):
            await RecorderClient.attach(heard.client.session)
        await heard.client.close()
        return heard, end

    heard, end = asyncio.run(session())
    assert isinstance(end, Failed) and end.kept == str(live_rig.request.out)
    assert "up to its last second" in str(end.trouble.error())
    for name, data in kept(live_rig.request.out).items():
        heard_bytes = heard.bytes[name]
        # What was heard last may not have been on the disk.
        assert heard_bytes[: len(data)] == data[: len(heard_bytes)]
        assert len(data) > 0.2 * len(heard_bytes)


def test_a_missing_sensor_is_one_line_and_leaves_nothing(live_rig):
    live_rig.rig.start("force")
    live_rig.rig.boards["inertial"].unplug()

    async def session():
        heard = Heard(await RecorderClient.start(live_rig.request))
        end = await heard.end()
        await heard.client.close()
        return end

    end = asyncio.run(session())
    assert isinstance(end, Failed) and not end.kept
    line = str(end.trouble.error())
    assert "inertial" in line and "\n" not in line
    assert not live_rig.request.out.exists()
    assert not running_sessions()


def test_what_cannot_be_recorded_is_refused_before_it_starts(live_rig):
    live_rig.request.out.write_bytes(b"mine")

    async def session():
        heard = Heard(await RecorderClient.start(live_rig.request))
        end = await heard.end()
        await heard.client.close()
        return end

    end = asyncio.run(session())
    with suppress(FileNotFoundError):
        assert live_rig.request.out.read_bytes() == b"mine"
    assert isinstance(end, Failed) and "already exists" in end.trouble.what


def test_stopped_while_it_connects_nothing_is_left(live_rig):
    # Only one of the two boards sends.
    live_rig.rig.start("force")

    async def session():
        heard = Heard(await RecorderClient.start(live_rig.request))
        await heard.until(lambda event: isinstance(event, Status) and event.status.phase == "connecting")
        await heard.client.abort()
        end = await heard.end()
        await heard.client.close()
        return end

    end = asyncio.run(session())
    assert isinstance(end, Failed) and "before every sensor sent" in end.trouble.what
    assert not live_rig.request.out.exists()


def test_a_page_that_cannot_show_a_recording_says_so_and_the_recording_goes_on(live_rig):
    live_rig.start()
    broken = replace(live_rig.request.info, certificates={"force": "{}"})

    async def session():
        live = await LiveSession.start(replace(live_rig.request, info=broken))
        async with asyncio.timeout(PATIENCE_S):
            state = await live.ended()
        another = Heard(await RecorderClient.attach(live.session_file))
        await live.close()
        await another.recording()
        await another.client.stop()
        end = await another.end()
        await another.client.close()
        return state, end

    state, end = asyncio.run(session())
    assert state.phase is LivePhase.FAILED and "cannot be shown" in str(state.trouble.error())
    assert isinstance(end, Ended) and end.path == str(live_rig.request.out)
