"""The script of repetitions: by what is seen, by a tap, and what pain and an overload do to it."""

from __future__ import annotations

import math

from feltload.acquisition import RecordingStatus
from feltload.app.scripts.moment import Ask
from feltload.app.scripts.repetitions import RepetitionScript
from feltload.app.scripts.swing import Swing


def follow(script: RepetitionScript, elapsed_s: float, turns: int, widest_deg: float = 60.0) -> Ask:
    swing = Swing(widest_deg=widest_deg, turns=turns)
    script.follow(RecordingStatus("recording", elapsed_s, None), swing)
    return script.moment.ask


def test_slow_ones_then_brisk_ones_then_a_rest():
    script = RepetitionScript()
    assert follow(script, 4.0, 0, widest_deg=1.0) is Ask.MOVE
    assert not script.moment.waited_long
    assert follow(script, 20.0, 0, widest_deg=1.0) is Ask.MOVE
    assert script.moment.waited_long
    asked = [follow(script, 20.0 + turns, turns) for turns in range(7)]
    assert asked == [Ask.SLOW] * 3 + [Ask.BRISK] * 3 + [Ask.REST_AFTER]
    assert math.isnan(script.moment.left_s)
    script.zeroed(3.0)
    assert script.moment.left_s == 3.0
    assert follow(script, 29.0, 6) is Ask.DONE
    assert script.at_step == len(script.steps) == 3


def test_a_tap_leaves_the_rest_of_these_repetitions_out():
    script = RepetitionScript()
    assert not script.go_on()
    follow(script, 9.0, 1)
    assert script.go_on()
    assert follow(script, 10.0, 1) is Ask.BRISK
    assert script.moment.number == 1
    assert follow(script, 12.0, 2) is Ask.BRISK and script.moment.number == 2


def test_the_beat_counts_three_seconds_up_and_three_down():
    script = RepetitionScript(helped=True)
    seen = []
    for second in range(6, 12):
        follow(script, second + 0.1, 0)
        beat = script.moment.beat
        seen.append((beat.raising, beat.count))
    assert seen == [(True, 1), (True, 2), (True, 3), (False, 1), (False, 2), (False, 3)]


def test_pain_ends_the_script_and_an_overload_waits_for_a_lighter_load():
    script = RepetitionScript()
    follow(script, 9.0, 1)
    script.overload()
    assert follow(script, 10.0, 2) is Ask.OVERLOAD
    assert script.go_on()
    assert follow(script, 11.0, 2) is Ask.SLOW
    script.pain()
    assert follow(script, 12.0, 4) is Ask.PAIN
    script.overload()
    assert script.moment.ask is Ask.PAIN
    assert not script.go_on()
    assert not script.moves
    assert script.at_step == 0
