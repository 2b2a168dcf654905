"""A picture made ready to send: resampled, and sharpened for the printer's own response."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
