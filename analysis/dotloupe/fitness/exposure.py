"""What the pixels alone tell of a capture's fitness: exposure, clipping, compression."""

from __future__ import annotations

import cv2
import numpy as np

from dotloupe.arrays import BoolArray
from dotloupe.capture import Capture
from dotloupe.fitness.finding import Fault, FaultLimits, Finding, Symptom

SAMPLES_A_SIDE = 800
PAPER_FROM = 0.7
BLACK_TO = 0.1
"""Green reflectance from which a pixel is taken for paper, and to which for black."""
LEAST_BLACK = 100
LOWEST_STEPS = tuple((u, v) for u in range(4) for v in range(4) if u + v <= 3)
"""The ten lowest frequencies of a block: up to 3/16 cycles a pixel, where a print has detail."""

EXPOSURE = FaultLimits(
    Symptom.UNDEREXPOSURE,
    2.5,
    5.0,
    "stops under full",
    "at 2.5 stops the noise of a usual pixel reaches 1.4 % of the paper and an 8-bit step 6 % of "
    "a dark tint; at 5 stops both are past what repeats can average",
)
LIGHT_END = FaultLimits(
    Symptom.PAPER_AT_FULL,
    0.5,
    5.0,
    "% of the paper at full",
    "clipping takes 2 % of the paper's noise power at 0.5 %, and 12 % at 5 % (a normal spread cut "
    "off at its top); the paper's level follows",
)
DARK_END = FaultLimits(
    Symptom.BLACK_AT_ZERO,
    2.0,
    50.0,
    "% of the black at zero",
    "black cut off raises the contrast of dark edges and bars; where half of it is zero its level "
    "is unknown",
)
COMPRESSION = FaultLimits(
    Symptom.JPEG_STEP,
    8.0,
    24.0,
    "steps of 1/255",
    "rounding changes an amplitude that varies by s by 14 % at steps of 2 s, and nearly halves "
    "it at 5 s (derived for normal values); tints of photo prints vary by some 4 steps of 1/255",
)


def pixel_findings(capture: Capture, rows: slice, columns: slice) -> tuple[Finding, ...]:
    """Findings on exposure, both ends of the scale and compression.

    Parameters
    ----------
    capture : Capture
    rows, columns : slice
        The part of the frame that matters.
    """
    part = capture.pixels[rows, columns]
    step = max(1, min(part.shape[:2]) // SAMPLES_A_SIDE)
    return (
        _exposure(capture),
        *_both_ends(capture, part[step // 2 :: step, step // 2 :: step]),
        _compression(capture),
    )


def frame_findings(capture: Capture) -> tuple[Finding, ...]:
    """Findings on a frame that may hold no paper: both ends of the scale, and compression."""
    step = max(1, min(capture.shape) // SAMPLES_A_SIDE)
    part = capture.pixels[step // 2 :: step, step // 2 :: step]
    return (*_both_ends(capture, part), _compression(capture))


def _exposure(capture: Capture) -> Finding:
    stops = -float(np.log2(capture.paper_level.max()))
    return Finding(Fault.EXPOSURE, stops, EXPOSURE)


def _both_ends(capture: Capture, coded: np.ndarray) -> tuple[Finding, Finding]:
    of_level = capture.linear / capture.paper_level[1]
    red, green, blue = (np.ascontiguousarray(coded[..., channel]) for channel in range(3))
    brightest = np.maximum(np.maximum(red, green), blue)
    paper, black = (
        cv2.LUT(green, levels.astype(np.uint8)).astype(bool)
        for levels in (of_level > PAPER_FROM, of_level < BLACK_TO)
    )
    clipped = _percent(paper, brightest == len(of_level) - 1)
    has_end = capture.linear[0] == 0 and np.count_nonzero(black) > LEAST_BLACK
    cut = _percent(black, brightest == 0) if has_end else 0.0
    return (
        Finding(Fault.CLIPPED_LIGHT, clipped, LIGHT_END),
        Finding(Fault.CLIPPED_DARK, cut, DARK_END),
    )


def _percent(of: BoolArray, those: BoolArray) -> float:
    """Share of the pixels `of` that are among `those`, in percent; 0 of none."""
    among, total = int(np.count_nonzero(of & those)), int(np.count_nonzero(of))
    return 100 * among / max(total, 1)


def _compression(capture: Capture) -> Finding:
    steps = np.array(capture.jpeg_steps or (0,) * 64).reshape(8, 8)
    mean = float(np.mean([steps[place] for place in LOWEST_STEPS]))
    return Finding(Fault.COMPRESSION, mean, COMPRESSION)
