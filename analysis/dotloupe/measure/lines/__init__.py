"""Printed lines: place, width, raggedness, offset of each ink, and passes that do not meet."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
