"""Facts to sentences, for terminal, page and sheet alike; the one place with minus signs, units and percent.

In: Typed facts and results of the layers below and of the jobs.
Out: Sentences and numbers as people read them.
"""
