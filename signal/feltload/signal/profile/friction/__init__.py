"""Friction by itself: its band along the travel, the places where it stands out, the part that grows with the load.

In: Friction of every load along the travel, and its covariance.
Out: Bands, tight spots, both parts by load.
"""
