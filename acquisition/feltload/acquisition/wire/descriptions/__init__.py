"""Stream and rig descriptions: their schema, fields and links, and the ones that ship.

In: TOML of a person, or the name of a shipped one.
Out: A description, read and checked.
"""
