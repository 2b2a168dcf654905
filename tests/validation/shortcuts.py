"""What people do today in place of measuring: one figure from a crop that nothing has placed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

MIDDLE_SHARE = 0.5
TINT_PLACE = (0.33, 0.24)
"""Where the mid grey lies in a frame that the patch fills: a person's crop at a glance."""
TINT_SHARE = 0.05


def sharpness_at_a_glance(coded: NDArray[np.uint8]) -> float:
    """Variance of the Laplacian of the middle of the frame, in coded values."""
    rows, columns = coded.shape[:2]
    height, width = round(MIDDLE_SHARE * rows), round(MIDDLE_SHARE * columns)
    top, left = (rows - height) // 2, (columns - width) // 2
    grey = cv2.cvtColor(coded[top : top + height, left : left + width], cv2.COLOR_RGB2GRAY)
    return float(cv2.Laplacian(grey, cv2.CV_64F).var())


def grain_at_a_glance(coded: NDArray[np.uint8]) -> float:
    """Standard deviation of a small crop of a grey tint, in coded values."""
    rows, columns = coded.shape[:2]
    x, y, half = TINT_PLACE[0] * columns, TINT_PLACE[1] * rows, TINT_SHARE * rows / 2
    crop = coded[round(y - half) : round(y + half), round(x - half) : round(x + half)]
    return float(cv2.cvtColor(crop, cv2.COLOR_RGB2GRAY).std())
