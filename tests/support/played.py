"""A recording given to the keeper of a live state piece by piece, as the recorder's process would."""

from __future__ import annotations

import heapq
from dataclasses import replace

from feltload.acquisition import read_recording
from feltload.app.live.recorder.messages import Arrived, Began
from feltload.app.live.state.keeper import StateKeeper
from feltload.app.running.marked import Marked


class Played:
    """A shipped recording, given to a keeper piece by piece."""

    def __init__(self, path, until_s=None, capacity_n=None, kind="machine", prepared=None):
        recording = read_recording(path)
        if until_s is not None:
            recording = recording.until(recording.origin_ns + int(until_s * 1e9))
        info = replace(recording.info, kind=kind)
        if capacity_n is not None:
            streams = tuple(
                each.model_copy(update={"rated_capacity_n": capacity_n}) if each.kind == "force" else each
                for each in info.rig.streams
            )
            info = replace(info, rig=info.rig.model_copy(update={"streams": streams}))
        self.recording = recording
        self.keeper = StateKeeper(info, str(path), replayed=True, prepared=prepared)
        self.overloaded = False

    def run(self, every_s=0.05):
        """Feed and decode; yields after each piece."""
        recording, keeper = self.recording, self.keeper
        keeper.take(Began(recording.origin_ns))
        for mark in recording.marks:
            begins, ends = (recording.origin_ns + int(at * 1e9) for at in (mark.start_s, mark.until_s))
            keeper.take(Marked(mark.kind, begins, mark.text, ends))
        parts = [
            [(host_ns, name, data) for host_ns, data in recording.messages(name).pairs()]
            for name in ("force", "inertial")
        ]
        sent = {"force": 0, "inertial": 0}
        until_ns = recording.origin_ns
        for host_ns, name, data in heapq.merge(*parts):
            if host_ns > until_ns:
                self.overloaded = keeper.decode() or self.overloaded
                yield
                until_ns = host_ns + int(every_s * 1e9)
            keeper.take(Arrived(name, sent[name], ((host_ns, data),)))
            sent[name] += 1
        self.overloaded = keeper.decode() or self.overloaded
        yield
