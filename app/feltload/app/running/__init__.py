"""A recording that runs, as data that pages draw and `app/text` says; forces in N, angles in rad.

In: Types of scripts, streams and facts.
Out: `LiveState`, `Moving`, `Enough`, and facts about what is missing while it runs; nothing is computed here.
"""
