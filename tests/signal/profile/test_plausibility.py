"""Profiles that their own evidence contradicts are refused, when made and when read back."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from feltload.signal.errors import ProfileError
from feltload.signal.profile.files.results import load_results, save_results
from feltload.signal.profile.quality import require_plausible
from made_estimate import made_estimate

SOUND = made_estimate()
ABSURD = {
    "holds no repetitions": replace(SOUND, repetitions=()),
    "spans": replace(SOUND, angle_rad=SOUND.angle_rad[0] + 6.0 * (SOUND.angle_rad - SOUND.angle_rad[0])),
    "below the start stop": replace(SOUND, angle_rad=SOUND.angle_rad - np.radians(30.0)),
    "more than a full turn": replace(SOUND, start_angle_rad=-13.0, angle_rad=SOUND.angle_rad - 13.0),
    "not masses that rise": replace(SOUND, loads_kg=-SOUND.loads_kg),
    "all zero": replace(SOUND, static_n=np.zeros_like(SOUND.static_n)),
    "reaches 200 kN": replace(SOUND, static_n=SOUND.static_n * 2e5 / SOUND.static_n.max()),
    "not finite": replace(SOUND, static_u95_n=np.full_like(SOUND.static_u95_n, np.inf)),
}


@pytest.mark.parametrize("reason", ABSURD)
def test_absurd_profiles_are_refused_when_made_and_when_read_back(reason, tmp_path):
    with pytest.raises(ProfileError, match=reason):
        require_plausible(ABSURD[reason], where="somewhere")
    save_results(tmp_path, ABSURD[reason])
    with pytest.raises(ProfileError, match=reason):
        load_results(tmp_path)


def test_a_sound_profile_passes(tmp_path):
    save_results(tmp_path, SOUND)
    assert load_results(tmp_path).angle_rad.size == SOUND.angle_rad.size
