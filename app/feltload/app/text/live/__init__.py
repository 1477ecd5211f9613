"""What the live pages say.

In: States of a session, sensors found, a machine being described.
Out: Sentences, labels and remarks of the pages.
"""
