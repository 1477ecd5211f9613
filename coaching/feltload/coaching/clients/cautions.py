"""The cautions that go with maximal efforts, sore positions, help by hand and printed estimates.

Common practice, no source. They defer to the maker's instructions, facility rules and licensed practice.
"""

from __future__ import annotations

MAXIMAL_EFFORT = (
    "Before a maximal hold: the maker's instructions and the facility's rules come first; check the rated "
    "capacity of cell, shackles and straps; have a partner beside the machine and the stops set; build up over "
    "two or three lighter holds; breathe; stop at once on pain."
)
PAIN = (
    "A limit set here keeps a measured force low between two positions. It treats nothing: pain or an injury "
    "belongs to a licensed clinician."
)
PAIN_IN_A_HOLD = (
    "A position that hurts is never held: leave it out with --painful. This is not a medical device; pain or injury "
    "goes to a licensed clinician."
)
HELP_BY_HAND = (
    "Help or resistance by hand is given only by someone trained in it, clear of the moving load and its plates, "
    "and ready to take the load when the client stops."
)
ESTIMATE = (
    "Repetitions and capacity are estimates with the range shown; the person, the day and the rest taken matter "
    "as much as the numbers."
)
