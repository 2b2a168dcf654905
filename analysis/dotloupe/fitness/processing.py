"""What a camera or its converter did to the picture: sharpening, and compression gone before."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from scipy import fft

from dotloupe.arrays import FloatArray
from dotloupe.fitness.finding import Fault, FaultLimits, Finding, Symptom
from dotloupe.fitness.focus import COSTS, USUAL_EDGE_UM
from dotloupe.fitness.tile_pixels import tile_pixels
from dotloupe.measure.edge import EdgeResponse
from dotloupe.patch import PAPER_TONE, Region
from dotloupe.registration import View

LARGEST_TILE_PX = 512
NOISE_BANDS = ((0.05, 0.10, 0.12, 0.20), (0.07, 0.13, 0.16, 0.25))
"""Pairs of a lower and a higher band in cycles/pixel: from the first to the second noise rises
where the picture is sharpened with a radius of about 2 and of about 1 pixel."""
RISE_SIGMAS = 2.5631
"""10 to 90 % of a Gaussian's rise, in its standard deviations."""
ERRORS_OFF = 2.5
LEVEL_FROM = 0.85
"""Noise that rises by so much is level within its error: sharpening may have lifted it there."""
OVERSHOOT_TONE = "mid"
BLOCK_PX = 8

MTF50_SIGMAS_PER_MM = 1000 * np.sqrt(np.log(2) / 2) / np.pi
"""MTF50 in cycles/mm of a Gaussian whose standard deviation is 1 um."""
SHARPENING_RADIUS_PX, SHARPENING_AMOUNT = 1.0, 2.0
"""Of an unsharp mask at the scale of camera pixels, as strong as is usual (common practice)."""

OVERSHOOT = FaultLimits(
    Symptom.OVERSHOOT,
    2.5,
    15.0,
    "% of the step",
    "ink only darkens and light only spreads, so that an edge of a print stays within its two "
    "plateaus to 1 %, to 2 % where few ppi were sent and the driver interpolated them; sharpening "
    "that lifts MTF50 by half overshoots by 3 to 10 %",
)
NOISE_RISE = FaultLimits(
    Symptom.NOISE_RISE,
    1.05,
    np.inf,
    "times",
    "noise of pixels is white, and colour interpolation makes it fall; only sharpening makes it "
    "rise. Of 360 fields of white noise the highest reads 1.04, its own error taken off",
)
POSSIBLE_GAIN = FaultLimits(
    Symptom.POSSIBLE_GAIN,
    COSTS,
    np.inf,
    "% at most of MTF50",
    "sharpening that lifts MTF50 by a tenth leaves no overshoot on edges as soft as a print's, and "
    "interpolated colour hides it in the noise; at finer sampling it would reach less",
)
BLOCKS = FaultLimits(
    Symptom.BLOCK_STEP,
    1.25,
    2.0,
    "times",
    "steps between a JPEG's blocks that outdo those within by a quarter show on clear tints from "
    "the quality on that takes several % off visible grain",
)


def sharpening_regions(view: View) -> tuple[Region, ...]:
    """Slanted edges that sharpening is read from: all of the mid tone, in both directions."""
    return tuple(r for r in view.regions("edge") if r.tone == OVERSHOOT_TONE)


def edge_blur_um2(view: View, edges: Mapping[str, EdgeResponse]) -> float:
    """Blur variance of the mid-tone edges by the median of their rises, as of a Gaussian's."""
    rises = [edges[r.name].rise_um for r in sharpening_regions(view) if r.name in edges]
    known = [rise for rise in rises if np.isfinite(rise)]
    sigma = float(np.median(known)) / RISE_SIGMAS if known else USUAL_EDGE_UM
    return sigma**2


def processing_findings(view: View, edges: Mapping[str, EdgeResponse]) -> tuple[Finding, ...]:
    """Findings on sharpening, and on blocks that a compression left.

    Parameters
    ----------
    view : View
    edges : mapping of str to EdgeResponse
        By region; those of `sharpening_regions` are read. Without them sharpening is judged by
        noise alone.
    """
    overshoots = [
        edges[region.name].overshoot for region in sharpening_regions(view) if region.name in edges
    ]
    found = []
    blank = next((r for r in view.regions("tint") if r.tone == PAPER_TONE), None)
    rise = np.inf if blank is None else noise_rise(tile_pixels(view, blank))
    by_camera = blank is not None and rise > NOISE_RISE.warning
    if by_camera:
        found.append(Finding(Fault.SHARPENING, rise, NOISE_RISE))
    elif edges and not view.capture.from_raw:
        gain = most_gained(edge_blur_um2(view, edges), view.registration.pixels_per_mm)
        found.append(Finding(Fault.SHARPENING, gain, POSSIBLE_GAIN, blamed=False))
    # A driver that sharpens leaves the noise of blank paper as it is; a JPEG may have smoothed it.
    may_be_camera = rise > LEVEL_FROM or bool(view.capture.jpeg_steps)
    if overshoots and may_be_camera:
        percent = 100 * float(np.median(overshoots))
        found.append(Finding(Fault.SHARPENING, percent, OVERSHOOT, blamed=by_camera))
    if not view.capture.jpeg_steps:
        step = max((block_step(tile_pixels(view, r)) for r in view.regions("tint")), default=1.0)
        # A halftone whose lattice is as wide as a block looks the same, but not on blank paper.
        on_paper = 1.0 if blank is None else block_step(tile_pixels(view, blank))
        by_blocks = on_paper > BLOCKS.warning
        found.append(Finding(Fault.COMPRESSION, step, BLOCKS, blamed=by_blocks))
    return tuple(found)


def most_gained(edge_um2: float, pixels_per_mm: float) -> float:
    """Share in % of the MTF50 of Gaussian edges that a camera's sharpening may have added.

    Parameters
    ----------
    edge_um2 : float
        Blur variance of the edges, as photographed.
    pixels_per_mm : float
        Of the photograph.
    """
    mtf50_per_px = MTF50_SIGMAS_PER_MM / np.sqrt(edge_um2) / pixels_per_mm
    passed = np.exp(-2 * (np.pi * SHARPENING_RADIUS_PX * mtf50_per_px) ** 2)
    gain = 1 + SHARPENING_AMOUNT * (1 - passed)
    return float(100 * (1 - np.sqrt(np.log(2) / np.log(2 * gain))))


def noise_rise(pixels: FloatArray) -> float:
    """How many times noise rises from a lower to a higher frequency, less 2.5 times its own error.

    Parameters
    ----------
    pixels : ndarray of shape (rows, columns)
        Blank paper, every pixel as it was stored.
    """
    side = min(*pixels.shape, LARGEST_TILE_PX)
    part = pixels[:side, :side]
    window = np.hanning(side + 2)[1:-1].astype(np.float32)
    power = np.abs(fft.rfft2((part - part.mean()) * window * window[:, None])) ** 2
    frequency = np.hypot(np.fft.fftfreq(side)[:, None], np.fft.rfftfreq(side)[None, :])
    rises = []
    for low_from, low_to, high_from, high_to in NOISE_BANDS:
        low = power[(frequency >= low_from) & (frequency < low_to)]
        high = power[(frequency >= high_from) & (frequency < high_to)]
        if not low.size or not low.any():
            continue
        # A Hann window leaves about 0.4 independent values a frequency in each direction.
        error = np.sqrt(1 / (0.4 * low.size) + 1 / (0.4 * high.size))
        rises.append(float(high.mean() / low.mean()) * (1 - ERRORS_OFF * error))
    return max(rises, default=0.0)


def block_step(pixels: FloatArray) -> float:
    """Steps at the borders of blocks over those within, the larger of both directions.

    1 where there are no blocks; where all is level within, as heavy compression leaves it, 8.
    """
    return max(_block_step_along(pixels), _block_step_along(pixels.T))


def _block_step_along(pixels: FloatArray) -> float:
    steps = np.abs(np.diff(pixels, axis=1)).mean(axis=0)
    whole = steps[: len(steps) // BLOCK_PX * BLOCK_PX].reshape(-1, BLOCK_PX).mean(axis=0)
    within = float(np.median(whole))
    if whole.max() == 0:
        return 1.0
    return float(min(whole.max() / max(within, 1e-9), BLOCK_PX))
