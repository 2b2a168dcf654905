"""A known texture: how much of it the print still follows, by frequency and direction."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
