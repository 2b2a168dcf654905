"""A camera's tone curve by two exposures of one frame, and captures freed from it.

Where the same light fell on the sensor twice, once for half as long, the ratio of each pair of
values is known, and with it the curve up to a scale (Mitsunaga and Nayar 1999, from memory). Equal
ranks of both frames' values are such pairs, whether or not the frame moved a little (Grossberg and
Nayar 2003, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.capture.capture import LUMINANCE, Capture
from dotloupe.capture.file_cautions import CameraToneCurve, ToneByExposures
from dotloupe.capture.loading import load_capture, thinned_paper_level
from dotloupe.errors import InputError

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray

PREVIEW_PX = 600
TONE = 0.4
"""Power of linear light in which steps look about even, as the curve is fitted."""
SPLINES = 14
TABLE = 256
LEVELS = 120
DARKEST, BRIGHTEST = 0.004, 0.93
"""Linear light between which values count: below they are coarse, above they may be clipped."""
LEAST_ERROR, DARK_ERROR = 0.003, 0.0007
"""Of a pair's ratio, and of linear light in the dark, where values are coarse and noisy."""
BEND = 0.03
"""Bend of the factor's logarithm from knot to knot that weighs as much as one pair's error."""
OUTERMOST = 0.002
"""Share of the values at either end that is left out."""
LEAST_RATIO = 1.4
LEAST_ALIKE = 0.95
"""Correlation of both frames' ranks; frames that show different things stay far below."""
LARGEST_MISFIT = 0.03


@dataclass(frozen=True)
class ExposurePair:
    """A tone curve found from two exposures.

    Attributes
    ----------
    path, sha256 : str
        The brighter exposure.
    half_sha256 : str
        The darker one.
    light : ndarray of shape (values,)
        Linear light by the file's own profile, ascending.
    factor : ndarray of shape (values,)
        True light over it, but for a scale.
    misfit : float
        Relative rms of what the curve leaves of the pairs' ratio.
    """

    path: str
    sha256: str
    half_sha256: str
    light: FloatArray
    factor: FloatArray
    misfit: float


def load_exposure_pair(path: Path, half: Path) -> ExposurePair:
    """Find the tone curve that two exposures of one frame share.

    Parameters
    ----------
    path, half : Path
        The brighter and the darker exposure, by the files' exposure times or, where these are
        silent, by one stop.

    Raises
    ------
    InputError
        A file cannot be read, or they are not two exposures of one frame.
    """
    from scipy.stats import spearmanr

    bright, dark = load_capture(path), load_capture(half)
    ratio = exposure_ratio(bright, dark)
    if ratio < LEAST_RATIO:
        raise InputError(
            f"{half}: exposed {1 / ratio:.2f} times as long as {path.name}; expose it half as long"
        )
    if bright.shape != dark.shape:
        raise InputError(f"{half}: not as large as {path.name}; photograph both without moving")
    of_bright, of_dark = _green(bright), _green(dark)
    if spearmanr(of_bright[::7].ravel(), of_dark[::7].ravel()).statistic < LEAST_ALIKE:
        raise InputError(f"{half}: does not show what {path.name} shows; photograph both unmoved")
    light, factor, misfit = tone_by_ranks(of_bright.ravel(), of_dark.ravel(), ratio)
    if misfit > LARGEST_MISFIT or np.any(np.diff(light * factor) <= 0):
        raise InputError(
            f"{half}: no curve brings it and {path.name} to an exposure ratio of {ratio:.2f}; use "
            "manual exposure, and switch local contrast off"
        )
    return ExposurePair(str(path), bright.sha256, dark.sha256, light, factor, misfit)


def exposure_ratio(bright: Capture, dark: Capture) -> float:
    """How many times the light of the darker exposure the brighter one has.

    Times are marked roundly (1/60 for 1/64 s), so that the ratio is taken in thirds of a stop.
    """
    both = (bright.settings, dark.settings)
    times = [s.exposure_s or 0.0 for s in both]
    if not all(times):
        return 2.0
    by_sensitivity = [s.iso or 100 for s in both]
    openings = [s.f_number or 1.0 for s in both]
    ratio = times[0] / times[1] * by_sensitivity[0] / by_sensitivity[1]
    ratio *= (openings[1] / openings[0]) ** 2
    return float(2 ** (round(3 * np.log2(ratio)) / 3))


def tone_by_ranks(
    bright: FloatArray, dark: FloatArray, ratio: float
) -> tuple[FloatArray, FloatArray, float]:
    """Fit the curve to pairs of equal rank.

    Parameters
    ----------
    bright, dark : ndarray of shape (n,)
        Linear light of two exposures by the file's profile, the brightest representable being 1.
    ratio : float
        Of their true light.

    Returns
    -------
    light, factor : ndarray of shape (values,)
    misfit : float
        As in `ExposurePair`.
    """
    bright, dark = np.sort(bright), np.sort(dark)
    shares = np.linspace(0, 1, len(bright))
    ends = np.quantile(bright, (OUTERMOST, 1 - OUTERMOST))
    low, high = np.clip(ends, DARKEST, BRIGHTEST)
    levels = np.geomspace(low, high, LEVELS)
    partners = np.interp(np.interp(levels, *_mean_rank(bright, shares)), *_swapped(dark, shares))
    usable = partners > DARKEST
    levels, partners = levels[usable], partners[usable]
    weight = LEAST_ERROR / np.hypot(LEAST_ERROR, DARK_ERROR / partners)
    design = _splines(levels) - _splines(partners)
    wanted = np.log(ratio) - np.log(levels / partners)
    bend = np.diff(np.eye(SPLINES), 2, axis=0) * LEAST_ERROR / BEND
    system = np.vstack([design * weight[:, None], bend, np.eye(SPLINES)[-1:]])
    target = np.concatenate([wanted * weight, np.zeros(len(bend) + 1)])
    found = np.linalg.lstsq(system, target, rcond=None)[0]
    misfit = float(np.sqrt(np.average((design @ found - wanted) ** 2, weights=weight**2)))
    light = np.linspace(0, 1, TABLE) ** (1 / TONE)
    return light, np.exp(_splines(light) @ found), misfit


def with_exposure_pair(capture: Capture, pair: ExposurePair) -> Capture:
    """Take the camera's tone curve out of a capture of the same set-up.

    Parameters
    ----------
    capture : Capture
        A raw file stays as it is.
    pair : ExposurePair
    """
    if capture.from_raw:
        return capture
    factor = np.interp(capture.linear, pair.light, pair.factor)
    curve = (capture.linear * factor).astype(np.float32)
    cautions = tuple(c for c in capture.warnings if not isinstance(c, CameraToneCurve))
    return replace(
        capture,
        linear=curve,
        paper_level=thinned_paper_level(capture.pixels, curve),
        warnings=(*cautions, ToneByExposures(Path(pair.path).name, pair.misfit)),
    )


def _green(capture: Capture) -> FloatArray:
    """Linear light of the green channel, averaged to a preview: noise must not change ranks."""
    import cv2

    step = max(1, min(capture.shape) // PREVIEW_PX)
    green = np.ascontiguousarray(capture.pixels[..., int(np.argmax(LUMINANCE))])
    size = (green.shape[1] // step, green.shape[0] // step)
    light = capture.linear[green]
    return np.asarray(cv2.resize(light, size, interpolation=cv2.INTER_AREA), np.float64)


def _mean_rank(values: FloatArray, shares: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Distinct values, ascending, and the mean share of each."""
    distinct, start, count = np.unique(values, return_index=True, return_counts=True)
    return distinct, shares[start] + (count - 1) / 2 / max(len(values) - 1, 1)


def _swapped(values: FloatArray, shares: FloatArray) -> tuple[FloatArray, FloatArray]:
    distinct, rank = _mean_rank(values, shares)
    return rank, distinct


def _splines(light: FloatArray) -> FloatArray:
    """Cubic B-splines at even steps of tone, shape (values, splines)."""
    from scipy.interpolate import BSpline

    tone = np.clip(light, DARKEST, 1) ** TONE
    inner = np.linspace(DARKEST**TONE, 1, SPLINES - 2)
    knots = np.concatenate([[inner[0]] * 3, inner, [inner[-1]] * 3])
    return np.asarray(BSpline.design_matrix(tone, knots, 3).toarray())
