"""The page, the figures and the tables of a repeatability study.

In: A study.
Out: One HTML page; figures at the size of a journal's column; the results table as Markdown and LaTeX.
"""
