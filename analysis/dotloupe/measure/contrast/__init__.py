"""Gratings of known contrast: what is printed, what stands out of the grain, what is seen."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
