"""Names for the array types that pass between the rooms."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.floating[Any]]
"""Reflectance, spectra, coordinates: any floating-point array."""

ComplexArray: TypeAlias = NDArray[np.complexfloating[Any, Any]]
"""Fourier transforms."""

BoolArray: TypeAlias = NDArray[np.bool_]
"""Masks."""

IntArray: TypeAlias = NDArray[np.signedinteger[Any]]
"""Places in pixels and counts."""

Interval: TypeAlias = tuple[float, float]
"""Lower and upper end of a 95 % interval."""
