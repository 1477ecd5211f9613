"""What a recording asks of the people at the machine, moment by moment, as types: one engine for terminal and page.

In: The recorder's status, a rough swing, taps and marks.
Out: Moments and steps; `app/text` says them.
"""
