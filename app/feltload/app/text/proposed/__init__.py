"""Proposed designs and drawings for the shop, in words.

In: Proposals, cams, machines.
Out: Sentences, rows of tables, notes of drawings.
"""
