"""Groups of bars: contrast, whether the bars drawn are there, and up to which frequency."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
