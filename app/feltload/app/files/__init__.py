"""What a person hands in and what is written: input files, outputs, provenance.

In: Paths and options.
Out: Loaded inputs; files that appear whole or not at all.
"""
