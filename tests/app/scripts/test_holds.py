"""The script of a session of maximal holds: order, times, and what pain does to it."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.acquisition import RecordingStatus
from feltload.app.scripts.holds import HoldScript
from feltload.app.scripts.moment import Ask
from feltload.app.scripts.swing import Swing
from feltload.app.text.person.moments import moment_headline
from feltload.app.text.person.recording import describe_holds_ahead
from feltload.coaching import plan_holds
from feltload.signal import Travel

LOW, HIGH = np.deg2rad(-30.0), np.deg2rad(20.0)
ALONG = Travel(np.array((LOW, HIGH)))


class Session:
    """A script driven by the clock of a recording, in the recorder's quarter seconds."""

    def __init__(self, count=5, painful=()) -> None:
        self.plan = plan_holds(LOW, HIGH, count=count, painful=painful)
        self.script = HoldScript(self.plan, LOW)
        self.now_s = 3.0
        self.wait(0.0)

    def wait(self, seconds: float) -> None:
        until = self.now_s + seconds
        while True:
            self.script.follow(RecordingStatus("recording", self.now_s, None), Swing())
            if self.now_s >= until:
                return
            self.now_s += 0.25

    def headline(self) -> str:
        return moment_headline(self.script.moment, ALONG)

    def hold(self) -> str:
        """One hold from the key to its end; its position."""
        assert self.script.moment.ask is Ask.SET_UP
        position = self.script.position
        self.script.go_on()
        self.wait(3.0 + 1.0 + self.plan.hold_s)
        return position

    def rest(self) -> None:
        assert self.script.moment.ask is Ask.REST
        self.wait(self.plan.rest_s)


def test_every_position_twice_the_second_time_backwards_with_full_rests():
    session = Session()
    held = []
    for number in range(10):
        held.append(session.hold())
        if number < 9:
            session.wait(session.plan.rest_s - 0.25)
            assert session.script.moment.ask is Ask.REST
            session.wait(0.25)
    planned = [f"{np.rad2deg(angle):.1f} deg" for angle in session.plan.angle_rad]
    assert held == planned + planned[::-1]
    assert session.script.moment.ask is Ask.DONE


def test_a_hold_is_counted_down_built_up_and_held_for_four_seconds():
    session = Session()
    session.wait(60.0)
    assert session.script.moment.ask is Ask.SET_UP
    session.script.go_on()
    seen = []
    for _ in range(40):
        session.wait(0.25)
        seen.append(session.script.moment.ask)
    lengths_s = {phase: 0.25 * seen.count(phase) for phase in (Ask.BUILD_UP, Ask.HOLD)}
    assert lengths_s == {Ask.BUILD_UP: 1.0, Ask.HOLD: 4.0}
    assert seen.index(Ask.BUILD_UP) * 0.25 == pytest.approx(3.0, abs=0.25)


@pytest.mark.parametrize("into_s", [0.0, 1.0, 3.5, 6.0, 8.0])
def test_a_position_that_hurts_is_never_asked_for_again(into_s):
    """From the set-up, the countdown, the build-up, the hold, and the rest after it."""
    session = Session()
    hurts = session.script.position
    if into_s:
        session.script.go_on()
        session.wait(into_s)
    assert session.script.position == hurts
    session.script.pain()
    assert session.script.moment.ask is Ask.PAIN
    assert session.script.position == hurts
    session.wait(600.0)
    assert session.script.moment.ask is Ask.PAIN
    session.script.go_on()
    held = []
    while session.script.moment.ask is not Ask.DONE:
        session.rest()
        held.append(session.hold())
    assert hurts not in held
    assert len(held) == 8


def test_with_fewer_than_three_positions_left_it_only_ends():
    session = Session(count=3)
    session.script.pain()
    assert session.script.moment.ask is Ask.TOO_FEW
    session.script.go_on()
    session.wait(600.0)
    assert session.script.moment.ask is Ask.TOO_FEW
    assert "Too few positions" in session.headline()


def test_pain_after_the_last_hold_is_of_that_position():
    session = Session(count=3)
    for _ in range(5):
        last = session.hold()
        session.rest()
    last = session.hold()
    session.script.pain()
    assert session.script.position == last
    session = Session(count=4)
    for _ in range(7):
        session.hold()
        session.rest()
    session.hold()
    session.script.pain()
    assert "End here" in session.headline()
    session.script.go_on()
    assert session.script.moment.ask is Ask.DONE


def test_every_moment_has_words_that_name_the_position_and_what_to_do():
    session = Session()
    seen = {}
    session.script.go_on()
    for _ in range(45):
        seen.setdefault(session.script.moment.ask, session.headline())
        session.wait(0.25)
    assert "% of the travel" in seen[Ask.COUNTDOWN]
    assert "without pain" in seen[Ask.HOLD]
    assert "Let go" in seen[Ask.REST] and "2:00" in seen[Ask.REST]
    session.script.pain()
    assert "clinician" in session.headline()


def test_what_lies_ahead_is_said_before():
    painful = (np.deg2rad(-8.0), np.deg2rad(-2.0))
    text = " ".join(describe_holds_ahead(Session(painful=[painful]).plan, "row", ALONG))
    assert "before anything is recorded" in text and "50 %, 70 % and 85 %" in text
    assert "Left out as painful: 50 % (−5°)" in text
