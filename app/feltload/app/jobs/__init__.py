"""What commands do: one function a job, from checked inputs to typed results, without words.

In: Paths, quantities and choices.
Out: Results and facts, for text, page or JSON.
"""
