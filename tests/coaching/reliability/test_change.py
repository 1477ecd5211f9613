"""What a value wanders when nothing has changed: published examples, and pairs by hand."""

from __future__ import annotations

import pytest

from feltload.coaching import CoachingError, minimal_difference, repeatability
from published_data import published


def test_minimal_difference_of_weir() -> None:
    """Weir (2005): MD = SEM x 1.96 x sqrt(2), so 2.77 SEM."""
    assert minimal_difference(1.0) == pytest.approx(2.772, abs=5e-4)


def test_standard_error_of_measurement_is_the_root_of_the_error_mean_square() -> None:
    """Shrout & Fleiss (1979), as in Weir (2005): the mean square within targets is printed as 6.26."""
    given = published("shrout_fleiss")
    found = repeatability(given["ratings"])
    assert found.sem**2 == pytest.approx(given["within_mean_square"], abs=0.005)
    # Recomputed from the ratings, not printed: 112.75 over 18.
    assert found.sem**2 == pytest.approx(112.75 / 18.0, rel=1e-12)
    assert found.degrees_of_freedom == 18
    with pytest.raises(CoachingError):
        repeatability([[1.0], [2.0]])


def test_one_pair_is_enough_and_what_was_not_repeated_counts_for_nothing() -> None:
    """400 N and 406 N: 3 N off their mean each, 18 N² over one degree of freedom; 1.96 x sqrt(2) x 4.243 N."""
    found = repeatability([[400.0, 406.0], [250.0]])
    assert (found.sem, found.degrees_of_freedom) == (pytest.approx(18.0**0.5), 1)
    assert found.minimal_difference == pytest.approx(11.76, abs=0.001)
    # Pairs and triples pooled: 18 + 2 + 0 over 1 + 2 + 1.
    assert repeatability([[400.0, 406.0], [99.0, 100.0, 101.0], [7.0, 7.0]]).sem == pytest.approx(5.0**0.5)
