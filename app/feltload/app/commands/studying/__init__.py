"""The commands about many measurements together.

In: What a person typed.
Out: An exit code; a folder of statistics.
"""
