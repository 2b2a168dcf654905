"""Even tints: noise spectrum, graininess, mottle, granularity, banding, and what an eye sees."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
