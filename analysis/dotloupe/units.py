"""Constants that every room shares: the inch in mm, the usual viewing distance, 95 %."""

from __future__ import annotations

MM_PER_INCH = 25.4

VIEWING_DISTANCE_MM = 350.0
"""From how far a print in the hands is looked at (common practice, no source)."""

NORMAL_95 = 1.959964
"""Half-width of a 95 % interval of a normal quantity, in standard errors."""
