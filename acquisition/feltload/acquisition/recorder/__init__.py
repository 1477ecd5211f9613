"""What runs while recording: channels read side by side, written on a thread of its own, health as it goes.

In: A rig description and the links it names.
Out: A recording on disk; status, and facts about its links, for whoever shows them.
"""
