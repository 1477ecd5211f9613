"""A partner's hands: help planned by position, help delivered, a set taken apart.

In: A load line, a capacity curve, and a person's recorded session.
Out: A plan for the partner; delivered help with its band; each repetition by its parts.
"""
