"""How well a printer and a set-up repeat: photographs within prints, prints within settings."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
