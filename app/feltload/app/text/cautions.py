"""Usual cautions around a loaded machine, shown wherever they apply."""

from __future__ import annotations

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
