"""Files and values on disk: written whole or not at all, cached, ready for JSON."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
