"""Detail against the ppi sent: the smooth rise, what is enough, what stands out."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
