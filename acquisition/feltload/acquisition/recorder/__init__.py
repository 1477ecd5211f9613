"""The process that records: channels read side by side, written on a thread of its own, health as it goes.

In: A rig description and links.
Out: A recording on disk; status for whoever shows it.
"""
