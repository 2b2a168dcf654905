"""Is a capture fit to be measured: findings that need to know where the patch lies."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
