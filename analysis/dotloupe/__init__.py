"""How much detail a photo printer puts on paper, measured from photographs of printed patches."""

import lazy_loader

__version__ = "0.1.0"

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
