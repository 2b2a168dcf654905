"""The workbench: a folder of captures in a browser on this machine, over the same library."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
