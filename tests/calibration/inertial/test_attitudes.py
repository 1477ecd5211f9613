"""Still attitudes found in a made recording with motion between them."""

import numpy as np

from feltload.calibration.inertial.attitudes import distinct, find_attitudes


def test_six_faces_are_found_among_motion():
    rng = np.random.default_rng(2)
    rate, parts_g, parts_a = 100, [], []
    faces = [*np.eye(3), *-np.eye(3), np.eye(3)[0]]
    for face in faces:
        n = 3 * rate
        parts_a.append(9.81 * face + rng.normal(0, 0.02, (n, 3)))
        parts_g.append([0.01, -0.02, 0.005] + rng.normal(0, 0.002, (n, 3)))
        # One second of handling: a turn with tremor.
        parts_a.append(9.81 * face + rng.normal(0, 1.5, (rate, 3)))
        parts_g.append(rng.normal(0, 1.0, (rate, 3)))
    gyro, accel = np.vstack(parts_g), np.vstack(parts_a)
    found = find_attitudes(np.arange(len(gyro)) / rate, gyro, accel)
    assert len(found) == 7
    for attitude, face in zip(found, faces, strict=True):
        assert np.allclose(attitude.accel_m_s2, 9.81 * face, atol=0.01)
        assert np.allclose(attitude.gyro_rad_s, [0.01, -0.02, 0.005], atol=5e-4)
        assert attitude.end_s - attitude.start_s > 2.0
    assert len(distinct(found)) == 6


def test_nothing_still():
    rng = np.random.default_rng(3)
    # Slow swing in every window: no stretch is still.
    time = np.arange(1000) / 100
    swing = np.sin(3 * time)[:, None] * [1.0, 0.5, 0.2]
    assert find_attitudes(time, swing + rng.normal(0, 0.01, (1000, 3)), 3 * swing) == []
