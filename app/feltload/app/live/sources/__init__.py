"""What a live recording is made from: what a person fills in on a page, or the emulated rig.

In: A rig, a machine file, a load in words; or nothing at all.
Out: Requests to the recorder's process.
"""
