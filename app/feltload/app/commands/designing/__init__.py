"""The commands of whoever designs a machine: what it will ask for before it is built.

In: Machine files, loads, targets.
Out: Predicted results, pages, tables.
"""
