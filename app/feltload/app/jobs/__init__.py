"""What commands do: one function a job, from loaded inputs to facts.

In: Loaded inputs.
Out: Facts, for text, page or JSON.
"""
