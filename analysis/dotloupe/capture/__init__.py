"""What the camera saw: readers, linear reflectance, fitness of a capture."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
