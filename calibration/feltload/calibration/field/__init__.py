"""The check in the field: one known weight hung while recording.

In: A recording with marks, or readings.
Out: Whether the chain still reads what it should.
"""
