"""Usual cautions around a loaded machine and a person who works at it, shown wherever they apply.

Common practice, no source. They defer to the maker's instructions, local codes, facility rules and licensed practice.
"""

from __future__ import annotations

from collections.abc import Mapping

from feltload.coaching import Caution

FIRST_COMES = (
    "The maker's instructions, local codes and the facility's rules come before anything written here."
)

BEFORE_LOADING = (
    FIRST_COMES,
    "Check the rated capacity of cell, shackles and straps, with their safety factor, before loading.",
    "Never stand under a loaded machine or reach into it; let it down on its stop first.",
)

BEFORE_USING_THE_RESULT = (
    *BEFORE_LOADING,
    "Maximal holds need stops that catch the load and a partner who is trained to help.",
    "Stop on pain. This is not a medical device: pain or injury goes to a licensed clinician.",
)

BEFORE_BUILDING = (
    "A curve says nothing of strength: frames, cables and joints are dimensioned by whoever answers for the machine, "
    "by the codes that apply there.",
    *BEFORE_USING_THE_RESULT,
)

CAUTIONS: Mapping[Caution, str] = {
    Caution.MAXIMAL_EFFORT: (
        "Before a maximal hold: the maker's instructions and the facility's rules come first; check the rated "
        "capacity of cell, shackles and straps; have a partner beside the machine and the stops set; build up over "
        "two or three lighter holds; breathe; stop at once on pain."
    ),
    Caution.LIMIT_TREATS_NOTHING: (
        "A limit set here keeps a measured force low between two positions. It treats nothing: pain or an injury "
        "belongs to a licensed clinician."
    ),
    Caution.PAIN_IN_A_HOLD: (
        "A position that hurts is never held: its range is marked painful (by --painful in a terminal, by “Pain: stop” "
        "on a page) and left out. This is not a medical device; pain or injury goes to a licensed clinician."
    ),
    Caution.PAINFUL_RANGE: (
        "A range is marked painful: nobody works, holds or is helped in it, and no load is made heavier because of it. "
        "Pain belongs to a licensed clinician; stop at once if it hurts anywhere else. The mark stays until it is "
        "removed on purpose."
    ),
    Caution.HELP_BY_HAND: (
        "Help or resistance by hand is given only by someone trained in it, clear of the moving load and its plates, "
        "and ready to take the load when the client stops."
    ),
    Caution.ESTIMATE: (
        "Repetitions and capacity are estimates with the range shown; the person, the day and the rest taken matter "
        "as much as the numbers."
    ),
}
"""Words of the cautions that results of `feltload.coaching` carry."""

INVENTED_DATA = "Invented data: an emulated machine or an emulated person; nobody was measured."
