"""Phones that send their motion: their page, what of it is taken, and how it reaches the recorder as a sensor's lines.

In: Messages of a phone's page.
Out: Lines on a socket of this computer, a stream description, what is known of each phone.
"""
