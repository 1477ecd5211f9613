"""The fitted machine on its grid is the equation that was fitted, at every load."""

from __future__ import annotations

import numpy as np
import pytest


@pytest.mark.parametrize("loads", [(20.0, 40.0), (40.0,)])
def test_the_model_gives_the_force_of_the_fitted_equation(measure, loads):
    found = measure("cam-drum", loads=loads, seed=2)
    made, layout = found.estimate, found.solved.layout
    for rows in found.solved.sessions:
        aligned = rows.aligned
        fitted = rows.columns @ layout.gather(found.solved.fit.smoothed.coefficients, aligned.load_kg)
        q, rate, accel = (
            column[rows.source] for column in (aligned.q_rad, aligned.rate_rad_s, aligned.accel_rad_s2)
        )
        given = made.force_n(q + made.start_angle_rad, rate, accel, aligned.load_kg)
        inside = np.isfinite(given)
        assert np.mean(inside) > 0.8
        # Between the angles of the grid the model is interpolated.
        assert given[inside] == pytest.approx(fitted[inside], abs=0.05)
