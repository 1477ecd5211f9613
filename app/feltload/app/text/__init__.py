"""Facts to sentences, for terminal, page and sheet alike.

In: Typed facts of the layers below.
Out: Sentences.
"""
