"""A picture in which photographs are looked for, and what the search makes of it once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

from dotloupe.errors import InputError
from dotloupe.registration.picture.features import find_features
from dotloupe.registration.picture.templates import SoughtLevel, sought_level

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.registration.picture.features import Features

SMALLEST_PX = 32
LEAST_SPREAD = 1e-4
"""Standard deviation below which an image is flat."""
PICTURE_FEATURES = 30000


class SoughtPicture:
    """A picture, its features and its reduced forms, each made when first asked for.

    Parameters
    ----------
    light : ndarray of shape (H, W)
        Linear light of the picture that was sent, the mean of its channels.

    Attributes
    ----------
    light : ndarray of shape (H, W), float32
    flat : bool
        Whether it holds nothing.

    Raises
    ------
    InputError
        An array that is too small or holds values that are not finite.
    """

    def __init__(self, light: FloatArray) -> None:
        self.light, self.flat = checked(light, "picture")
        self._features: dict[float, Features] = {}
        self._levels: dict[int, SoughtLevel] = {}

    def features(self, most_pixels: float) -> Features:
        """Features of the picture reduced to about so many pixels."""
        if most_pixels not in self._features:
            self._features[most_pixels] = find_features(
                self.light, most_pixels=most_pixels, per_octave=PICTURE_FEATURES
            )
        return self._features[most_pixels]

    def level(self, step: int) -> SoughtLevel:
        """The picture reduced by whole blocks, as templates are compared with it."""
        if step not in self._levels:
            self._levels[step] = sought_level(self.light, step)
        return self._levels[step]


def checked(image: FloatArray, name: str) -> tuple[FloatArray, bool]:
    """An image as float32, and whether it is flat.

    Parameters
    ----------
    image : ndarray
    name : str
        What a person calls it.

    Raises
    ------
    InputError
        It is too small, of several channels, or holds values that are not finite.
    """
    array = np.ascontiguousarray(image, dtype=np.float32)
    if array.ndim != 2 or min(array.shape) < SMALLEST_PX:
        raise InputError(
            f"the {name} must be of at least {SMALLEST_PX} x {SMALLEST_PX} pixels in one channel, "
            f"not {array.shape}"
        )
    spread = float(cv2.meanStdDev(array)[1].item())
    if not np.isfinite(spread):
        raise InputError(f"the {name} holds values that are not finite; crop or fill them")
    return array, spread < LEAST_SPREAD
