"""Pictures of prints: whole and close up, and the viewer that lays them side by side."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
