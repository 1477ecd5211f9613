"""Friction by itself: its band along the travel, and the places where it stands out.

In: Friction of every load along the travel, and its covariance.
Out: Bands and tight spots.
"""
