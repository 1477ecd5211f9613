"""Facts to pages: one self-contained HTML file each.

In: Facts and figures.
Out: HTML files and result folders.
"""
