"""Candidates for a frame's place in a picture: compared everywhere, at every turn and scale."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import cv2
import numpy as np
import scipy

from dotloupe.registration.picture.features import Candidate
from dotloupe.registration.picture.verification import band
from dotloupe.registration.working_resolution import block_mean, block_to_full

if TYPE_CHECKING:
    from collections.abc import Callable

    from dotloupe.arrays import ComplexArray, FloatArray

PICTURE_PIXELS = 8e4
"""Of the finest reduced picture. The blur leaves a tenth of a correlation at 0.5 cycles a pixel."""
PROPOSALS = 12
TEMPLATE_PX = 44
"""Most of a frame's side that is compared."""
TEMPLATE_SIDE_PX = 14.5
"""Frames whose shorter side would be twice as long are compared with a coarser picture."""
SMALLEST_TEMPLATE_PX = 8.5
SCALE_STEP = 1.15
TURNS = 46
"""In a full turn, an even number: a template upside down has the spectrum of the upright one."""
TURN_STEP_DEG = 360.0 / TURNS
BLUR_PX = 0.42
BAND_PX = 1.8
RIM_PX = 2
THREADS = 2
ONE_PEAK_PX = 4
APART_PX = 5.0
"""Hits nearer than this are of one place."""


class Hit(NamedTuple):
    """A pose at which a frame resembles the picture.

    Strength is the root of the log-likelihood ratio of the correlation, as in `Likeness`; x and y
    are where the frame's middle lies in the finest reduced picture, and `level` how many of its
    pixels one of the compared picture spans.
    """

    strength: float
    scale: float
    turn: float
    x: float
    y: float
    level: int = 1


def propose_by_templates(
    observed: FloatArray,
    shape: tuple[int, ...],
    level_of_step: Callable[[int], SoughtLevel],
    scale_range: tuple[float, float],
) -> list[Candidate]:
    """Similarities at which the middle of the frame correlates best with a reduced picture.

    For pictures without corners to hold on to, or frames of few picture pixels. Each turn and
    scale costs one correlation by Fourier transform with the whole picture.

    Parameters
    ----------
    observed : ndarray of shape (rows, columns)
        Linear luminance.
    shape : tuple of int
        Rows and columns of the picture.
    level_of_step : callable
        From the side of a block to the picture reduced by such blocks; see `sought_level`.
    scale_range : tuple of float
        Observed pixels per picture pixel, smallest and largest.
    """
    step = max(1, round(np.sqrt(np.prod(shape) / PICTURE_PIXELS)))
    scales = _scales(observed, min(shape) // step, step, scale_range)
    if not len(scales):
        return []
    block = max(1, int(scales[0] * step))
    reduced = block_mean(observed, block)
    sides = min(observed.shape) / (scales * step)
    level_of = [2 ** max(0, int(np.log2(side / TEMPLATE_SIDE_PX))) for side in sides]
    levels = {n: level_of_step(step * n) for n in set(level_of)}

    def at(scale: float, level: int) -> list[Hit]:
        frame = _frame_at(reduced, scale * step * level / block)
        return _hits(levels[level], frame, scale, level)

    with ThreadPoolExecutor(THREADS) as pool:
        hits = [hit for found in pool.map(at, scales.tolist(), level_of) for hit in found]
    hits.sort(reverse=True)
    return _distinct(hits, observed.shape, step, PROPOSALS)


@dataclass(frozen=True)
class SoughtLevel:
    """The reduced picture in which templates are looked for, and its spectrum."""

    image: FloatArray
    spectrum: ComplexArray
    size: tuple[int, int]


def sought_level(picture: FloatArray, step: int) -> SoughtLevel:
    """A picture reduced by whole blocks, its slow content set aside."""
    image = _textured(block_mean(picture, step))
    rows, columns = (scipy.fft.next_fast_len(n + TEMPLATE_PX, real=True) for n in image.shape)
    return SoughtLevel(image, scipy.fft.rfft2(image, (rows, columns)), (rows, columns))


def _hits(sought: SoughtLevel, frame: FloatArray, scale: float, level: int) -> list[Hit]:
    """The best places of every turn of a frame at one scale."""
    shape, half = sought.image.shape, _half_side(frame)
    if min(shape) <= 2 * half:
        return []
    inverse = (1 / _local_rms(sought.image, frame.size))[half:, half:]
    rows, columns = (scipy.fft.fftfreq(sought.size[0]), scipy.fft.rfftfreq(sought.size[1]))
    about_middle = np.exp(4j * np.pi * half * (rows[:, None] + columns[None, :]))
    upside_down = sought.spectrum * about_middle.astype(np.complex64)
    hits: list[Hit] = []
    for turn in np.arange(TURNS // 2) * TURN_STEP_DEG:
        template = _turned(frame, turn)
        power = float(np.sqrt(np.sum(template**2)))
        if power <= 0:
            continue
        # Most rows of the padded template are empty.
        along = scipy.fft.rfft(template, sought.size[1], axis=1)
        spectrum = scipy.fft.fft(along, sought.size[0], axis=0, overwrite_x=True)
        for product, turned in (
            (sought.spectrum * np.conj(spectrum), turn),
            (upside_down * spectrum, turn + 180),
        ):
            columns = scipy.fft.ifft(product, axis=0, overwrite_x=True)[: len(inverse)]
            surface = scipy.fft.irfft(columns, sought.size[1], axis=1)[:, : inverse.shape[1]]
            hits += _peaks(surface * inverse / power, scale, turned, half, level)
    return hits


def _textured(image: FloatArray) -> FloatArray:
    """Blurred image without its slow content."""
    blurred = scipy.ndimage.gaussian_filter(image, BLUR_PX, mode="nearest")
    return band(blurred, np.ones(image.shape, dtype=bool), BAND_PX, rim_px=RIM_PX)


def _half_side(frame: FloatArray) -> int:
    """Pixels from the middle of the odd square that holds a frame at any turn to its rim."""
    return int(np.ceil(np.hypot(*frame.shape) / 2)) + 1


def _scales(
    observed: FloatArray, picture_side: int, step: int, scale_range: tuple[float, float]
) -> FloatArray:
    """Scales, in observed pixels per picture pixel, at which the frame can be a template."""
    side = min(observed.shape) / step
    low = max(scale_range[0], side / picture_side)
    high = min(scale_range[1], side / SMALLEST_TEMPLATE_PX)
    if high < low:
        return np.zeros(0)
    count = int(np.ceil(np.log(high / low) / np.log(SCALE_STEP))) + 1
    return np.geomspace(low, high, count)


def _frame_at(observed: FloatArray, reduction: float) -> FloatArray:
    """Middle of the frame at the reduced picture's sampling, slow content set aside."""
    block = max(1, int(reduction))
    reduced = block_mean(observed, block)
    shape = np.maximum(np.round(np.array(reduced.shape) * block / reduction).astype(int), 4)
    frame = cv2.resize(reduced, (int(shape[1]), int(shape[0])), interpolation=cv2.INTER_LINEAR)
    frame = _textured(np.asarray(frame, dtype=np.float32))
    keep = np.minimum(shape, TEMPLATE_PX)
    first = (shape - keep) // 2
    crop = frame[first[0] : first[0] + keep[0], first[1] : first[1] + keep[1]]
    return np.asarray(crop, dtype=np.float32)


def _turned(frame: FloatArray, turn_deg: float) -> FloatArray:
    """The frame turned into the picture's orientation, in an odd square about its middle."""
    half = _half_side(frame)
    angle = np.deg2rad(turn_deg)
    c, s = np.cos(angle), np.sin(angle)
    matrix = np.array([[c, -s, half], [s, c, half]])
    matrix[:, 2] -= matrix[:, :2] @ ((np.array(frame.shape[::-1]) - 1) / 2)
    return np.asarray(cv2.warpAffine(frame, matrix, (2 * half + 1, 2 * half + 1)))


def _local_rms(sought: FloatArray, area: float) -> FloatArray:
    """Root of the picture's energy under a soft disc of the template's area."""
    energy = sought**2
    mean = scipy.ndimage.gaussian_filter(energy, np.sqrt(area / (4 * np.pi)), mode="constant")
    return np.asarray(np.sqrt(area * np.maximum(mean, 0.2 * float(energy.mean()))))


def _peaks(surface: FloatArray, scale: float, turn: float, half: int, level: int) -> list[Hit]:
    """The two best places of a pose."""
    points = 1.0 / max(float(surface.var()), 1e-9)
    best = []
    for _ in range(2):
        row, column = np.unravel_index(int(np.argmax(surface)), surface.shape)
        alike = min(max(float(surface[row, column]), 0.0), 0.99)
        strength = float(np.sqrt(-points * np.log1p(-(alike**2))))
        x, y = (level * (float(n + half) + 0.5) - 0.5 for n in (column, row))
        best.append(Hit(strength, scale, turn, x, y, level))
        around = (slice(max(0, n - ONE_PEAK_PX), n + ONE_PEAK_PX + 1) for n in (row, column))
        surface[tuple(around)] = -np.inf
    return best


def _distinct(
    hits: list[Hit],
    shape: tuple[int, ...],
    step: int,
    most: int,
) -> list[Candidate]:
    """Candidates of the best hits, one for each place, turn and scale."""
    kept: list[Hit] = []
    for hit in hits:
        fresh = all(
            np.hypot(hit.x - k.x, hit.y - k.y) > APART_PX * hit.level
            or abs(np.log(hit.scale / k.scale)) > 1.5 * np.log(SCALE_STEP)
            or abs((hit.turn - k.turn + 180) % 360 - 180) > 1.5 * TURN_STEP_DEG
            for k in kept
        )
        if fresh:
            kept.append(hit)
        if len(kept) == most:
            break
    to_full = block_to_full(step)
    middle = (np.array(shape[::-1]) - 1) / 2
    candidates = []
    for strength, scale, turn, x, y, level in kept:
        angle = np.deg2rad(turn)
        c, s = np.cos(angle) / (scale * step), np.sin(angle) / (scale * step)
        matrix = np.array([[c, -s, x], [s, c, y], [0.0, 0.0, 1.0]])
        matrix[:2, 2] -= matrix[:2, :2] @ middle
        candidates.append(Candidate(to_full @ matrix, strength, 3.0 * step * level))
    return candidates
