"""The invented paper: how it spreads light and how its surface shades."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray


@dataclass(frozen=True)
class Paper:
    """One paper.

    Attributes
    ----------
    name : str
        An invented name.
    spread_um : float
        Length k of the exponential spread of light in the paper's white, whose transfer is
        (1 + (2 pi k f)^2)^(-3/2). 40 um halves at 3 cycles/mm, usual for coated photo papers.
    coating_um : float
        Standard deviation of the spread of light inside the coating that holds the ink: a part
        of its thickness of 30 to 40 um.
    surface_reflectance : float
        Light thrown back by the surface before it meets ink, relative to the paper's white:
        what is left of gloss with lights at 45 degrees. Bounds the black.
    texture_rms : float
        Relative standard deviation of reflectance by the surface's relief under raking light.
        About 1 % for a lustre, less for a gloss.
    texture_mm : float
        Size (Gaussian standard deviation) of that relief; a lustre's pearls measure a few
        tenths of a millimetre.
    """

    name: str = "invented lustre"
    spread_um: float = 40.0
    coating_um: float = 15.0
    surface_reflectance: float = 0.004
    texture_rms: float = 0.008
    texture_mm: float = 0.08


LUSTRE = Paper()
GLOSS = Paper(name="invented gloss", surface_reflectance=0.002, texture_rms=0.002, texture_mm=0.3)


def spread_transfer(paper: Paper, frequency: FloatArray) -> FloatArray:
    """Transfer of the light's spread in the paper at `frequency` in cycles/mm.

    The transform of a rotationally symmetric exponential, exp(-r/k) / (2 pi k^2).
    """
    k_mm = paper.spread_um / 1000.0
    return (1.0 + (2.0 * np.pi * k_mm * frequency) ** 2) ** -1.5


def draw_texture(
    paper: Paper, shape: tuple[int, int], pixels_per_mm: float, rng: np.random.Generator
) -> FloatArray:
    """Relief of one sheet as a factor around 1, float32 of `shape`.

    Made on a grid of a third of `texture_mm`, which holds all of its spectrum, and enlarged.
    """
    import cv2

    coarse_per_mm = min(pixels_per_mm, 3.0 / paper.texture_mm)
    scale = pixels_per_mm / coarse_per_mm
    sigma_px = paper.texture_mm * coarse_per_mm
    reach = 8
    rows, cols = (int(np.ceil(n / scale)) + 2 * reach for n in shape)
    white = rng.standard_normal((rows, cols), dtype=np.float32)
    relief = cv2.GaussianBlur(white, (0, 0), sigma_px)
    relief *= paper.texture_rms * 2.0 * np.sqrt(np.pi) * sigma_px
    enlarge = np.array([[scale, 0.0, -reach * scale], [0.0, scale, -reach * scale]])
    factor = cv2.warpAffine(relief, enlarge, (shape[1], shape[0]), flags=cv2.INTER_CUBIC)
    return np.asarray(factor + 1.0, dtype=np.float32)
