"""Emulated people: how they move, what they can hold, and a partner's hands.

In: A tempo, habits and a seed.
Out: A smooth path of the lever with its spans; forces of hands on the handle.
"""
