"""Work done by processes of their own, and how a run and its processes end."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
