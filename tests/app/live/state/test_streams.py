"""Both arms of a machine at once, and a cell whose readings cannot be made a force."""

from __future__ import annotations

from dataclasses import replace

import pytest

from feltload.acquisition import Mark, read_recording
from feltload.app.live.state.streams import Streams
from feltload.app.running.facts import LiveFact

UNTIL_NS = 9_000_000_000


@pytest.fixture(scope="module")
def arms(recordings):
    """The two shipped loads as if they had been the two arms of one session."""
    return {
        side: read_recording(recordings / f"lever-row-{load}kg.mcap")
        for side, load in (("left", 20), ("right", 40))
    }


def test_each_arm_has_its_own_force_and_position(arms):
    described = [
        recording.description(name).model_copy(
            update={
                "name": f"{side}-{name}",
                "side": side,
                "link": recording.description(name).link.model_copy(update={"port": f"/dev/{side}-{name}"}),
            }
        )
        for side, recording in arms.items()
        for name in ("force", "inertial")
    ]
    info = arms["left"].info
    streams = Streams(
        replace(info, rig=info.rig.model_copy(update={"streams": tuple(described)})), origin_ns=0
    )
    assert [arm.side for arm in streams.arms] == ["left", "right"]
    arrived = sorted(
        (at - recording.origin_ns, f"{side}-{name}", data)
        for side, recording in arms.items()
        for name in ("force", "inertial")
        for at, data in recording.messages(name).pairs()
    )
    marks, decoded_ns = (Mark("tare", 0.0, 2.5),), 0
    for at, channel, data in arrived:
        if at > UNTIL_NS:
            break
        streams.take(channel, [(at, data)])
        if at > decoded_ns + 100_000_000:
            streams.decode(marks)
            decoded_ns = at
    left, right = (arm.state() for arm in streams.arms)
    assert left.position_known and right.position_known
    # Half the plates, and about half the force.
    assert 1.4 < right.peak_n / left.peak_n < 2.2
    assert left.force_stream == "left-force" and right.inertial_stream == "right-inertial"


def test_counts_without_a_certificate_are_no_force_and_the_rest_goes_on(arms):
    recording = arms["right"]
    cell, inertial = recording.info.rig.streams
    fields = tuple(
        each.model_copy(update={"unit": "counts"}) if each.name == "force" else each for each in cell.fields
    )
    rig = recording.info.rig.model_copy(
        update={"streams": (cell.model_copy(update={"fields": fields}), inertial)}
    )
    streams = Streams(replace(recording.info, rig=rig), recording.origin_ns)
    for name in ("force", "inertial"):
        streams.take(name, recording.messages(name).pairs()[:700])
    streams.decode(())
    state = streams.arms[0].state()
    assert not state.force_known
    fact = next(fact for fact in state.facts if fact.kind == LiveFact.FORCE_NOT_KNOWN)
    assert fact.stream == "force" and "no certificate" in fact.figures["what"]
    assert streams.arms[0].last_s > 5.0
