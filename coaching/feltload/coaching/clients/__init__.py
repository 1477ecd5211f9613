"""A client's folder: sessions, history, and the cautions that go with the work.

In: Sessions of one client.
Out: Records on disk; change against measurement noise.
"""
