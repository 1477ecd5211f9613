"""Capacity of a person, match, help by hand, comparison and reliability."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
