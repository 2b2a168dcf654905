"""The run over a test: plan, workers, cluster, duplicates, cached measurements, remeasuring."""

import lazy_loader

__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)
