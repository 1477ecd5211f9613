"""Samples counted by their arrivals alone, in small cases whose losses are written down."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.acquisition.wire.counting.arrivals_only import recount, silences_not_caught_up

PER_MESSAGE, PERIOD_S = 5, 0.01


def arrivals(messages=600, lost=(), late_s=0.002):
    """Messages of five samples at 100 Hz, up to 2 ms late, without those that are lost."""
    kept = np.setdiff1d(np.arange(messages), lost)
    sent_s = (kept + 1) * PER_MESSAGE * PERIOD_S
    delay_s = np.random.default_rng(4).uniform(0.0, late_s, messages)[kept]
    number = kept[:, None] * PER_MESSAGE + np.arange(PER_MESSAGE)
    return np.repeat(sent_s + delay_s, PER_MESSAGE), number.ravel()


@pytest.mark.parametrize("lost", [[], [200], [200, 201, 202], [150, 300, 301, 450]])
def test_whole_messages_lost_are_counted_where_they_are_missing(lost):
    arrival_s, number = arrivals(lost=lost)
    found = recount(arrival_s)
    assert found.by_message
    assert found.lost == PER_MESSAGE * len(lost)
    assert found.number.tolist() == number.tolist()
    assert found.gaps == int(np.count_nonzero(np.diff(lost, prepend=-9) > 1))


def test_a_stall_that_brings_everything_later_is_no_loss():
    arrival_s, number = arrivals()
    held = (arrival_s > 10.0) & (arrival_s < 10.6)
    arrival_s[held] = 10.6
    found = recount(arrival_s)
    assert (found.lost, found.gaps) == (0, 0)
    assert found.number.tolist() == number.tolist()


def test_delays_that_scatter_more_than_a_message_tell_nothing():
    arrival_s, _ = arrivals(lost=[300], late_s=0.3)
    assert recount(np.maximum.accumulate(arrival_s)).lost == 0


def test_too_few_messages_tell_nothing():
    arrival_s, _ = arrivals(messages=30, lost=[15])
    assert recount(arrival_s).lost == 0


def test_a_pause_is_a_silence_only_if_its_samples_do_not_come():
    arrival_s, _ = arrivals(lost=range(200, 220))
    silent = silences_not_caught_up(arrival_s, 100.0)
    # The last sample before the pause of a second.
    assert np.flatnonzero(silent).tolist() == [200 * PER_MESSAGE - 1]
    held, _ = arrivals()
    held[(held > 10.0) & (held < 11.0)] = 11.0
    assert not silences_not_caught_up(held, 100.0).any()
