"""Whether a certificate follows from the readings that it carries.

In: Certificates.
Out: Facts about what they rest on, or one error that says what in them does not follow.
"""
