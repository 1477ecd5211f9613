"""A partner's hands during a helped set, as a page shows them, beside what is computed of the whole set afterwards."""

from __future__ import annotations

import numpy as np
import pytest

from feltload.app.jobs.client_inputs import read_profile
from feltload.app.live.state.keeper import Viewer
from feltload.app.scripts.repetitions import RepetitionScript
from feltload.app.sessions.script_choice import PreparedScript
from feltload.coaching import HelpDoubt, Phase, delivered_help, person_motion
from feltload.signal import Reference, Session
from played import Played


def shown(played):
    """(rotation, help given, rate, doubt) at every piece."""
    rows = []
    for _ in played.run(0.05):
        moving = played.keeper.update(Viewer()).moving
        if moving.hands is not None and moving.arms:
            arm = moving.arms[0]
            rows.append((arm.q_rad, moving.hands.given_n, arm.rate_rad_s, moving.hands.doubt))
    return rows


def test_given_help_is_that_of_the_set_as_a_whole(recordings, measured_row):
    profile = read_profile(measured_row)
    prepared = PreparedScript(RepetitionScript(helped=True), profile=profile)
    played = Played(recordings / "partner-help-40kg.mcap", until_s=18.0, kind="helped", prepared=prepared)
    rows = shown(played)
    start = played.keeper.state.start_angle_rad
    reference = Reference(profile.machine_name, start, 0.0)
    whole = delivered_help(
        profile, person_motion(Session.from_recording(played.recording), reference, profile.lag), 40.0
    )
    raising = whole.mean_n(Phase.CONCENTRIC)
    known = [
        (given, np.interp(start + q, whole.angle_rad, raising))
        for q, given, rate, doubt in rows
        if doubt is None and rate > 0.1 and np.isfinite(given)
    ]
    given, later = np.array([row for row in known if np.isfinite(row[1])]).T
    assert given.size > 30
    # One repetition is not the mean of them all, and where hands come on it is a matter of degrees.
    assert np.median(np.abs(given - later)) < 4.0
    # Where the hands are on: what is shown is up to 0.2 s old, so the first values of a repetition are still rising.
    on = later > 0.8 * np.nanmax(raising)
    assert np.median(given[on]) == pytest.approx(np.median(later[on]), rel=0.05)
    doubts = {doubt for *_, doubt in rows}
    assert {HelpDoubt.NO_ZERO, HelpDoubt.NO_POSITION, HelpDoubt.TURNING} <= doubts


def test_without_a_profile_it_says_so(recordings):
    prepared = PreparedScript(RepetitionScript(helped=True))
    played = Played(recordings / "partner-help-40kg.mcap", until_s=5.0, kind="helped", prepared=prepared)
    assert {doubt for *_, doubt in shown(played)} == {HelpDoubt.NO_PROFILE}
