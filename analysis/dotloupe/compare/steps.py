"""Criteria in steps that an eye can just tell apart."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable

EYE_BLUR_ARCMIN = 0.5
"""Standard deviation of a keen eye's own blur (from memory; optics of a small pupil)."""

BLUR_STEP = 0.10
"""Relative change of the whole blur, print and eye, that is just seen.

From memory: Weber fractions of 0.1 to 0.2 in blur discrimination (Watson and Ahumada 2011).
"""

GRAIN_THRESHOLD = 0.1
"""L* rms of grain that is just seen: half a per cent of luminance at mid-grey (from memory)."""

GRAIN_STEP = 0.10
"""Relative change of a strong grain that is just seen (from memory, as for other contrasts)."""

MTF50_OF_SIGMA = 0.18739
"""MTF50 of a Gaussian blur times its standard deviation."""

BARS_CONTRAST = 0.10
"""Contrast at which bars count as resolved."""


def sharpness_steps(sigma_mm: float, viewing_distance_mm: float) -> float:
    """Visible steps of sharpness of a Gaussian blur, up to a constant; more is sharper.

    The print's blur and the eye's add in quadrature, and a step is a relative change of the sum, so
    that detail far finer than the eye's own blur earns nothing.

    Parameters
    ----------
    sigma_mm : float
        Standard deviation of the blur on the print.
    viewing_distance_mm : float
        Distance of the eye from the print.
    """
    eye_mm = viewing_distance_mm * np.tan(np.radians(EYE_BLUR_ARCMIN / 60))
    return float(-np.log(np.hypot(eye_mm, sigma_mm)) / np.log1p(BLUR_STEP))


def detail_steps(mtf50: float, viewing_distance_mm: float) -> float:
    """Visible steps of the Gaussian blur that has this MTF50, in cycles/mm."""
    return sharpness_steps(MTF50_OF_SIGMA / mtf50 if mtf50 > 0 else np.inf, viewing_distance_mm)


def line_pair_steps(resolved: float, viewing_distance_mm: float) -> float:
    """Visible steps of the Gaussian blur that leaves bars of `resolved` lp/mm a contrast of 10 %.

    Bars lose all but their fundamental, which is 4/pi of their contrast (Coltman 1954).
    """
    if resolved <= 0:
        return -np.inf
    ratio = np.sqrt(np.log(4 / (np.pi * BARS_CONTRAST)) / 2) / np.pi
    return sharpness_steps(ratio / resolved, viewing_distance_mm)


def grain_steps(lightness_rms: float, _viewing_distance_mm: float) -> float:
    """Visible steps of grain, none at no grain, negative with grain.

    A step is the threshold for faint grain and a constant share of strong grain. Visible grain is
    filtered for its viewing distance where it is measured.
    """
    return float(-np.log1p(GRAIN_STEP * max(lightness_rms, 0) / GRAIN_THRESHOLD) / GRAIN_STEP)


STEPS: dict[str, Callable[[float, float], float]] = {
    "detail_x": detail_steps,
    "detail_y": detail_steps,
    "line_pairs_x": line_pair_steps,
    "line_pairs_y": line_pair_steps,
    "grain": grain_steps,
}
