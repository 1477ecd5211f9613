"""Pages of what was measured: the result, the client's page, and documents that are opened, saved and shared.

In: Results of the working folder.
Out: Sentence, figures and figure on the first screen, and the steps that come next.
"""
