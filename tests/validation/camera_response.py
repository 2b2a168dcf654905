"""The simulated camera's true response where the edges lie in the frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from dotloupe.registration.homography import map_points

if TYPE_CHECKING:
    from dotloupe import simulate

EDGES_MM = (6.3, 9.9)
"""Middle of the slanted stripes on the patch."""
HIGHEST = 40.0


def camera_at_the_edges(picture: simulate.Photograph) -> tuple[np.ndarray, np.ndarray]:
    """Frequency in cycles/mm and modulation: what a reference edge in the set-up would tell."""
    frequency = np.arange(0, HIGHEST, 0.25)
    place = map_points(np.linalg.inv(picture.homography), np.array([EDGES_MM]))[0]
    return frequency, picture.camera_mtf(frequency, *place)
