"""The estimator beside a recording that runs: what the profile is so far, whether it is enough, and the result.

In: Recordings, the last of which may still grow.
Out: `Enough`, and the folder of a result, from a worker process that gives way to the recorder.
"""
