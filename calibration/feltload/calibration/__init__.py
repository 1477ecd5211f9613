"""Sensor calibration, the geometric model of a machine, and agreement of profile and model."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
