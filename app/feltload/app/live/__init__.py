"""Pages on this computer and on phones while something is measured.

In: A rig, or a recording to play; what people tap.
Out: Recordings and results, and what is said and drawn meanwhile.
"""
