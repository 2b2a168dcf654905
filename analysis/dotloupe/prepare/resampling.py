"""Resampling of linear light by the kernels of well-kept libraries."""

from __future__ import annotations

from typing import Literal, get_args

import numpy as np

from dotloupe.arrays import FloatArray

Resize = Literal["area", "bilinear", "bicubic", "lanczos"]
RESIZES: tuple[Resize, ...] = get_args(Resize)


def resampled(light: FloatArray, size: tuple[int, int], method: Resize) -> FloatArray:
    """Resample one channel; the borders of the picture stay where they are.

    Parameters
    ----------
    light : ndarray of shape (rows, columns)
        Linear light.
    size : (int, int)
        New rows and columns.
    method : {"area", "bilinear", "bicubic", "lanczos"}
        Mean over the area of each new pixel (OpenCV); or triangle, cubic convolution with
        a = -1/2 (Keys 1981), or Lanczos windowed sinc of three lobes (all Pillow), stretched where
        the picture becomes smaller.

    Returns
    -------
    ndarray of shape `size`, float32
        Cubic convolution and Lanczos overshoot at edges, so that it may leave 0 to 1.
    """
    light = np.ascontiguousarray(light, dtype=np.float32)
    if light.shape == size:
        return light
    if method == "area":
        import cv2

        return np.asarray(cv2.resize(light, size[::-1], interpolation=cv2.INTER_AREA))
    from PIL import Image

    kernels = {
        "bilinear": Image.Resampling.BILINEAR,
        "bicubic": Image.Resampling.BICUBIC,
        "lanczos": Image.Resampling.LANCZOS,
    }
    return np.asarray(Image.fromarray(light).resize(size[::-1], kernels[method]))
