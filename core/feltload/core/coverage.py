"""Coverage factors: from a standard uncertainty to a band, each with the document that it comes from.

A column ``..._u95...`` is 1.96 u: a 95 % band of a normal distribution, drawn around curves. An *expanded uncertainty*
U is 2 u: what certificates state and what E_n compares. Where u itself rests on few repeats, Student's t takes the
place of 1.96.
"""

from __future__ import annotations

import math
from typing import Final

NORMAL_COVERAGE_95: Final = 1.96
"""Half-width of a 95 % band in standard deviations of a normal distribution (JCGM 100:2008, table G.1: 1.960)."""

ONE_SIDED_COVERAGE_95: Final = 1.645
"""Coverage factor of a one-sided limit at 95 % for a normal distribution."""

EXPANDED_COVERAGE_K: Final = 2.0
"""Coverage factor of an expanded uncertainty (JCGM 100:2008, 6.2.1 and 6.3.3: about 95 %; ISO/IEC 17043 for E_n)."""


def coverage_95(degrees_of_freedom: float) -> float:
    """Student's t for a two-sided 95 % band (JCGM 100:2008, table G.2).

    Parameters
    ----------
    degrees_of_freedom : float
        Of the standard uncertainty; infinite gives the normal distribution.

    Raises
    ------
    ValueError
        Less than one.
    """
    if not degrees_of_freedom >= 1.0:
        raise ValueError(f"{degrees_of_freedom} degrees of freedom, one is the fewest")
    if math.isinf(degrees_of_freedom):
        return NORMAL_COVERAGE_95
    # Slow to import, and only small samples need it.
    from scipy.special import stdtrit

    return float(stdtrit(degrees_of_freedom, 0.975))
