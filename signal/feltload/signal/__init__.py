"""Streams to one clock, lever motion, repetitions and the resistance profile."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
