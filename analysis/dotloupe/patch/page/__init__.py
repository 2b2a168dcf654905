"""Pages of several patches at true size, as PDF or PNG."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
