"""Machines that give: play and flex between handle and load, found, sized, and taken out of the profile.

In: A fit of sessions as if the machine were rigid.
Out: The fit of the arm behind the joint, and what the joint is, as facts.
"""
