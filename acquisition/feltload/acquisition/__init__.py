"""Bytes from sensors to recordings on disk to streams in SI units."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
