"""What was lost on the way, counted by hand: by numbers, by the clock, by arrivals; and rates."""

from __future__ import annotations

import math
import struct

import pytest

from feltload.acquisition import decode
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.facts import HealthFact
from feltload.acquisition.wire.health import StreamHealth
from feltload.core import Severity


def health(stamps_ms=None, *, host_s=None, forces=None, numbers=None, **keys):
    """Health of one sample per notification, with a clock in ms and a number where they are given."""
    count = len(host_s if stamps_ms is None else stamps_ms)
    fields = [{"name": "force", "type": "i32", "unit": "N", "scale": 0.1}]
    if stamps_ms is not None:
        fields.append({"name": "device_time", "type": "u32", "unit": "ms"})
    if numbers is not None:
        fields.append({"name": "seq", "type": "u16"})
    description = StreamDescription(name="cell", kind="force", framing="notification", fields=fields, **keys)
    host_s = [stamp / 1000.0 for stamp in stamps_ms] if host_s is None else host_s
    messages = []
    for k in range(count):
        data = struct.pack("<i", 0 if forces is None else forces[k])
        data += b"" if stamps_ms is None else struct.pack("<I", stamps_ms[k])
        data += b"" if numbers is None else struct.pack("<H", numbers[k])
        messages.append((round(host_s[k] * 1e9), data))
    return decode(messages, description).health


def test_losses_by_the_clock():
    # At 100 Hz: one sample missing before 40 ms, four before 100 ms. 17 ms is late, 18 ms (over 1.75 periods) a gap.
    found = health([0, 10, 20, 40, 50, 100, 110, 127], rate_hz=100.0)
    assert (found.lost, found.gaps, found.longest_gap_s) == (5, 2, pytest.approx(0.05))
    assert (found.samples, found.duration_s, found.rate_hz) == (
        8,
        pytest.approx(0.127),
        pytest.approx(7 / 0.127),
    )
    assert health([0, 10, 20, 38], rate_hz=100.0).lost == 1


def test_losses_by_the_clock_without_a_rate():
    # The median step, 10 ms, is the period.
    found = health([0, 10, 20, 50, 60])
    assert (found.lost, found.gaps) == (2, 1)
    assert health([0, 0, 0, 50]).gaps == 0


def test_a_silence_of_a_stream_that_counts_nothing_is_a_loss_unless_it_is_caught_up():
    # No clock, no number: delays of half a second are a link's, not losses.
    assert health(host_s=[0.0, 0.01, 0.02, 0.51], rate_hz=100.0).gaps == 0
    # Longer, and what was sent meanwhile never came: how much it was, nothing says.
    found = health(host_s=[0.0, 0.01, 0.02, 0.62], rate_hz=100.0)
    assert (found.lost, found.gaps, found.uncounted, found.longest_gap_s) == (0, 1, 1, pytest.approx(0.6))
    # At 10 Hz ten periods.
    assert health(host_s=[0.0, 0.1, 1.05], rate_hz=10.0).gaps == 0
    found = health(host_s=[0.0, 0.1, 1.3], rate_hz=10.0)
    assert (found.lost, found.gaps, found.uncounted) == (0, 1, 1)
    # The 60 samples of the silence come at its end, over some messages: a stall of the host.
    late = [0.0, 0.01, 0.02, *([0.62] * 40), *([0.63] * 21), 0.64]
    found = health(host_s=late, rate_hz=100.0)
    assert (found.lost, found.gaps) == (0, 0)


def test_losses_by_number_go_before_the_clock():
    found = health([0, 10, 20, 60], numbers=[7, 8, 9, 11], rate_hz=100.0)
    assert (found.lost, found.gaps) == (1, 1)


def test_a_restart_is_no_gap_and_the_rate_is_then_that_of_arrivals():
    host_s = [10.0, 10.01, 10.02, 12.0, 12.01]
    found = health([50_000, 50_010, 50_020, 0, 10], host_s=host_s, rate_hz=100.0)
    assert (found.resets, found.lost, found.longest_gap_s) == (1, 0, pytest.approx(0.01))
    assert found.rate_hz == pytest.approx(4 / 2.01)


def test_a_clock_that_leaps_while_no_time_passes():
    found = health([0, 10, 20_000, 20_010], host_s=[0.0, 0.01, 0.02, 0.03], rate_hz=100.0)
    assert (found.clock_jumps, found.resets) == (1, 0)


def test_a_stamp_off_both_neighbours_is_a_bad_frame():
    # 2 s ahead and back, where a second is the ordinary step; 0.9 s ahead may be true.
    assert health([0, 10, 2020, 30, 40], rate_hz=100.0).bad_frames == 1
    assert health([0, 10, 2020, 30, 40], rate_hz=100.0).samples == 4
    assert health([0, 10, 910, 30, 40], host_s=[0.0, 0.01, 0.02, 0.03, 0.04], rate_hz=100.0).bad_frames == 0
    # Numbers: a second is 100 of them; a thousand where no rate is known.
    assert health(host_s=[0, 1, 2, 3], numbers=[1, 150, 3, 4], rate_hz=100.0).bad_frames == 1
    assert health(host_s=[0, 1, 2, 3], numbers=[1, 1500, 3, 4]).bad_frames == 1
    assert health(host_s=[0, 1, 2, 3], numbers=[1, 150, 3, 4]).bad_frames == 0


def test_overload_only_where_a_capacity_is_stated():
    assert health([0, 10, 20], forces=[0, 6000, -6000]).overloads == 0
    found = health([0, 10, 20, 30], forces=[0, 6000, -6000, 5000], rated_capacity_n=500.0)
    assert (found.overloads, found.peak_force_n) == (2, pytest.approx(600.0))


def test_two_samples_have_a_rate_and_one_has_none():
    assert health([5, 15]).rate_hz == pytest.approx(100.0)
    found = health([5])
    assert math.isnan(found.rate_hz)
    assert (found.samples, found.duration_s, found.lost, found.gaps, found.longest_gap_s) == (
        1,
        0.0,
        0,
        0,
        0.0,
    )
    assert math.isnan(health(host_s=[1.0, 1.0]).rate_hz)


def test_a_stream_of_which_nothing_is_known_has_no_facts():
    fresh = StreamHealth("cell")
    assert fresh.facts() == ()
    values = fresh.to_dict()
    assert values.pop("name") == "cell"
    assert values.pop("facts") == []
    # No rate and no peak yet: nothing, not a number.
    assert (values.pop("rate_hz"), values.pop("peak_force_n")) == (None, None)
    assert values.pop("wraps") == {}
    assert set(values.values()) == {0}


def test_facts_carry_their_counts():
    found = StreamHealth(
        "cell",
        rate_hz=80.0,
        peak_force_n=12.5,
        lost=3,
        overloads=1,
        duplicates=5,
        wraps={"device_time": 65536},
    )
    *counted, wrap = found.facts()
    assert (wrap.kind, wrap.figures) == (
        HealthFact.WRAP_NOT_DESCRIBED,
        {"field": "device_time", "wrap": 65536},
    )
    assert [(fact.kind, fact.severity, fact.stream, fact.figures["count"]) for fact in counted] == [
        (HealthFact.SAMPLES_MISSING, Severity.CAUTION, "cell", 3),
        (HealthFact.ABOVE_RATED_CAPACITY, Severity.SERIOUS, "cell", 1),
    ]
    values = found.to_dict()
    assert (values["rate_hz"], values["peak_force_n"], values["duplicates"]) == (80.0, 12.5, 5)
    assert len(values["facts"]) == 3
