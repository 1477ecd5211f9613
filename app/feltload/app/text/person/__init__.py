"""What one person can produce and is asked for, in words.

In: Capacities, matches, plans of help and sets.
Out: Sentences for a coach's terminal and a client's sheet.
"""
