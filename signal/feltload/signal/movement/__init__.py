"""Force and motion on one grid, cut into movements; the handle's travel.

In: Rotation and force on their own sample times.
Out: Grids, runs of movement, metres of handle travel per radian.
"""
