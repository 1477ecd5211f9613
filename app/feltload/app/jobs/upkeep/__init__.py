"""How a machine does over time: friction and play of each measurement, kept in a log of its own.

In: Results of one machine.
Out: What is known now, what changed since the last measurement, the log.
"""
