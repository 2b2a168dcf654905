"""What a camera or its converter did to the picture: sharpening, and compression gone before."""

from __future__ import annotations

from collections.abc import Mapping

import cv2
import numpy as np
import scipy

from dotloupe.arrays import FloatArray
from dotloupe.fitness.finding import Fault, FaultLimits, Finding, Symptom
from dotloupe.fitness.focus import FINEST_GRAIN_PER_MM, NOTICED_LOSS_PERCENT, USUAL_EDGE_UM
from dotloupe.fitness.tile_pixels import tile_pixels
from dotloupe.measure.edge import EdgeResponse
from dotloupe.patch import PAPER_TONE, Region
from dotloupe.registration import View

LARGEST_TILE_PX = 512
NOISE_BANDS = ((0.05, 0.10, 0.12, 0.20), (0.07, 0.13, 0.16, 0.25))
"""Pairs of a lower and a higher band in cycles/pixel: from the first to the second noise rises
where the picture is sharpened with a radius of about 2 and of about 1 pixel."""
ABOUT_HALF = (0.3, 0.75)
"""MTF between which the response about MTF50 is taken as a straight line in its logarithms."""
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
    NOTICED_LOSS_PERCENT,
    np.inf,
    "% at most of MTF50 or of visible grain",
    "sharpening that lifts either by a tenth leaves no overshoot on edges as soft as a print's, "
    "and interpolated colour hides it in the noise; at finer sampling it would reach less",
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
    """Variance of the Gaussian blur whose MTF50 a slight further blur lowers as much as theirs.

    A blur of variance v takes 2 pi^2 v f^2 off ln MTF at a frequency f. Where ln MTF falls by s
    with ln f at MTF50, that lowers MTF50 by 2 pi^2 v MTF50^2 / s, and a Gaussian's by v over twice
    its own variance; so s / (2 pi MTF50)^2 stands for the variance (derived). The slope is that of
    the mid-tone edges' mean about MTF50, as the response of one edge wavers.
    """
    responses = [edges[r.name] for r in sharpening_regions(view) if r.name in edges]
    if not responses:
        return USUAL_EDGE_UM**2
    finest = max(responses, key=lambda r: r.frequency[-1]).frequency
    mtf = np.mean([np.interp(finest, r.frequency, r.mtf, right=0.0) for r in responses], axis=0)
    lost = finest[mtf < ABOUT_HALF[0]]
    last = lost[0] if lost.size else finest[-1]
    about = (finest > 0) & (finest <= last) & (mtf <= ABOUT_HALF[1]) & (mtf >= ABOUT_HALF[0])
    if np.count_nonzero(about) < 2:
        return USUAL_EDGE_UM**2
    slope, level = np.polyfit(np.log(finest[about]), np.log(mtf[about]), 1)
    mtf50 = np.exp((np.log(0.5) - level) / slope)
    return float(-1e6 * slope / (2 * np.pi * mtf50) ** 2)


def processing_findings(
    view: View, edges: Mapping[str, EdgeResponse], edge_um2: float
) -> tuple[Finding, ...]:
    """Findings on sharpening, and on blocks that a compression left.

    Parameters
    ----------
    view : View
    edges : mapping of str to EdgeResponse
        By region; those of `sharpening_regions` are read. Without them sharpening is judged by
        noise alone.
    edge_um2 : float
        Blur variance of the edges whose MTF50 counts.
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
        pixels_per_mm = view.registration.pixels_per_mm
        gain = max(most_gained(edge_um2, pixels_per_mm), most_grain_gained(pixels_per_mm))
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
    gain = _sharpening_gain(MTF50_SIGMAS_PER_MM / np.sqrt(edge_um2) / pixels_per_mm)
    return float(100 * (1 - np.sqrt(np.log(2) / np.log(2 * gain))))


def most_grain_gained(pixels_per_mm: float) -> float:
    """Gain in % of the finest grain that is visible at the usual distance, by such sharpening.

    Parameters
    ----------
    pixels_per_mm : float
        Of the photograph.
    """
    return float(100 * (_sharpening_gain(FINEST_GRAIN_PER_MM / pixels_per_mm) - 1))


def _sharpening_gain(cycles_per_px: float) -> float:
    """Factor by which an unsharp mask of the usual strength lifts an amplitude."""
    passed = np.exp(-2 * (np.pi * SHARPENING_RADIUS_PX * cycles_per_px) ** 2)
    return float(1 + SHARPENING_AMOUNT * (1 - passed))


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
    power = np.abs(scipy.fft.rfft2((part - part.mean()) * window * window[:, None])) ** 2
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
    steps = np.asarray(cv2.absdiff(pixels[:, 1:], pixels[:, :-1])).mean(axis=0)
    whole = steps[: len(steps) // BLOCK_PX * BLOCK_PX].reshape(-1, BLOCK_PX).mean(axis=0)
    within = float(np.median(whole))
    if whole.max() == 0:
        return 1.0
    return float(min(whole.max() / max(within, 1e-9), BLOCK_PX))
