"""Phones as inertial sensors: which convention a browser's motion events follow, and the stream that they make.

In: Motion as a browser tells it, and how the phone says it lies.
Out: Its convention, or what is missing to recognise it; a stream description.
"""
