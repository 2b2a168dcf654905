"""Photographic continuous tone: a light spot at 400 dots/inch on paper with a grain of its own.

Three layers of emulsion, each with grains some 7 um wide whose density noise grows with the root
of density (Selwyn, Siedentopf), and a scatter of light within the emulsion.
"""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np

from .printed import MM_PER_INCH, Driver, Floats, Printer

SPOTS_PER_INCH = 400
GRID = 10
PER_MM = SPOTS_PER_INCH * GRID / MM_PER_INCH
SPOT_MM = 0.018
SCATTER_MM, SCATTERED = 0.045, 0.22
"""Decay of scattered light in the emulsion, and its share."""
GRAIN_MM = 0.007
GRAIN_SD = 0.075
"""Density deviation at density 1, at the size of the grid."""
GAMMA = 1.35
"""Slope of density over log exposure in its middle."""
D_MAX = 2.0


def density_of(exposure: Floats) -> Floats:
    """Density of an emulsion by an S-shaped characteristic curve."""
    return (D_MAX / (1 + np.power(np.maximum(exposure, 1e-6), -4 * GAMMA / D_MAX))).astype(
        np.float32
    )


def exposure_for(density: Floats) -> Floats:
    """Exposure that gives a density."""
    part = np.clip(density / D_MAX, 0.002, 0.93)
    return np.power(part / (1 - part), D_MAX / (4 * GAMMA))


def expose(plane: Floats) -> Floats:
    """Light in the emulsion: spots, and what is scattered under its surface."""
    height, width = plane.shape
    fine = cv2.resize(
        plane.astype(np.float32), (width * GRID, height * GRID), interpolation=cv2.INTER_NEAREST
    )
    direct = cv2.GaussianBlur(fine, (0, 0), SPOT_MM * PER_MM)
    # two Gaussians stand for an exponential spread
    near = cv2.GaussianBlur(direct, (0, 0), 0.6 * SCATTER_MM * PER_MM)
    coarse = cv2.resize(near, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    far = cv2.GaussianBlur(coarse, (0, 0), 1.6 * SCATTER_MM * PER_MM / 4)
    far = cv2.resize(far, direct.shape[::-1], interpolation=cv2.INTER_LINEAR)
    return (1 - SCATTERED) * direct + SCATTERED * (0.7 * near + 0.3 * far)


def render(raster: Floats, seed: int) -> Iterator[Floats]:
    """Channels of reflectance."""
    for channel in range(3):
        rng = np.random.default_rng([seed, 400, channel])
        wanted = -np.log10(np.clip(raster[..., channel], 10**-1.8, 1))
        density = density_of(expose(exposure_for(wanted)))
        noise = rng.standard_normal(density.shape, dtype=np.float32)
        noise = cv2.GaussianBlur(noise, (0, 0), GRAIN_MM / 2 * PER_MM)
        noise /= noise[:200].std()
        density += np.float32(GRAIN_SD) * noise * np.sqrt(density)
        yield np.power(np.float32(10), -(density - density_of(exposure_for(np.zeros(1)))[0]))


MODEL = Printer("silver_400", Driver(400, "area"), render, PER_MM, (0.86, 0.86, 0.87), 0.001)
