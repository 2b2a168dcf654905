"""Shift between two shots below a pixel, and small turn and scale, from their common detail."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.errors import RegionError
from dotloupe.measure.grain.noise_spectrum import detrended

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray

EDGE_SHARE = 0.125
"""Share of a side over which the window rises at each end."""

RINGS_PER_RADIAN = 8
LEAST_SIGNIFICANCE = 3.0
"""Standard errors of the power in common of a ring below which it has no say."""

LARGEST_PX = 1.5
EXPECTED_PX = 0.3
"""Standard deviation of what is left once whole pixels are taken out: even odds within half one."""

LEAST_SIDE_PX = 64
LEAST_ERROR_PX = 0.01
MOST_PASSES = 6
LARGEST_LEFT_PX = 0.3
"""At the corners, after the last pass."""
UNLIKELY = 27.9
"""Chi-square of 6 degrees that chance tops once in ten thousand."""


@dataclass(frozen=True)
class Shift:
    """Shift of a second shot against a first, as (x, y), with its covariance in pixels^2."""

    shift_px: tuple[float, float]
    covariance: FloatArray

    @property
    def error_px(self) -> float:
        """Standard error of the worse direction."""
        return float(np.sqrt(np.linalg.eigvalsh(self.covariance)[-1]))


def shift_between(a: FloatArray, b: FloatArray) -> Shift:
    """Find the shift of b against a at which their cross-spectrum is most real.

    Each frequency counts by what it tells of the phase: the power in common over that of both,
    by rings, weighed anew as the shift becomes known.

    Parameters
    ----------
    a, b : ndarray, shape (h, w)
        Without trend, alike to a pixel or so.
    """
    window = np.outer(*(_window(n) for n in a.shape))
    fa, fb = scipy.fft.rfft2(a * window), scipy.fft.rfft2(b * window)
    omega_y = 2 * np.pi * scipy.fft.fftfreq(a.shape[0])[:, None]
    omega_x = 2 * np.pi * scipy.fft.rfftfreq(a.shape[1])[None, :]
    cross = fa * np.conj(fb)
    turns = np.hypot(omega_y, omega_x)
    ring = (turns * RINGS_PER_RADIAN).astype(np.intp)
    count = np.maximum(np.bincount(ring.ravel()), 1)
    powers = [np.bincount(ring.ravel(), np.square(np.abs(f)).ravel()) / count for f in (fa, fb)]
    both = np.sqrt(powers[0] * powers[1])
    both += 1e-4 * both.max()  # below it lies what the window leaks
    chance = LEAST_SIGNIFICANCE * both / np.sqrt(2 * count)

    def moments(values: FloatArray) -> FloatArray:
        mixed = np.sum(omega_x * omega_y * values)
        return np.array(
            [[np.sum(omega_x**2 * values), mixed], [mixed, np.sum(omega_y**2 * values)]]
        )

    shift: FloatArray = np.zeros(2)
    inverse: FloatArray = np.zeros((2, 2))
    shared = both
    weight: FloatArray = np.zeros_like(turns)
    for _ in range(20):
        turned = cross * np.exp(-1j * (omega_x * shift[0] + omega_y * shift[1]))
        shared = np.bincount(ring.ravel(), turned.real.ravel()) / count
        shared = np.where(shared > chance, shared, 0)
        weight = (shared / both**2)[ring]
        imaginary = weight * turned.imag
        gradient = np.array([np.sum(omega_x * imaginary), np.sum(omega_y * imaginary)])
        inverse = np.linalg.pinv(moments(weight * turned.real))
        step = np.clip(inverse @ gradient, -0.5, 0.5)
        shift = np.clip(shift + step, -LARGEST_PX, LARGEST_PX)
        if np.abs(step).max() < 1e-5:
            break
    # values are not independent under a window: its efficiency counts
    spread = np.maximum(both**2 - shared**2, 0)[ring] / 2 * window.size
    spread = spread * np.sum(window**4) / np.sum(window**2) ** 2
    if not weight.any():
        return Shift((0.0, 0.0), EXPECTED_PX**2 * np.eye(2))
    covariance = inverse @ moments(weight**2 * spread) @ inverse + 1e-12 * np.eye(2)
    # what was expected before looking keeps a shift that noise hides from running off
    trust = EXPECTED_PX**2 * np.linalg.inv(EXPECTED_PX**2 * np.eye(2) + covariance)
    x, y = trust @ shift
    return Shift((float(x), float(y)), trust @ covariance)


def straightened(first: FloatArray, second: FloatArray) -> tuple[FloatArray, float]:
    """Lay the second shot on the first where it is turned, sheared or scaled against it.

    The shifts of the four quarters of the region tell. Where they are alike but for chance the
    second shot is left as it is, and no pixel is made up.

    Parameters
    ----------
    first, second : ndarray, shape (h, w)
        Alike to about a pixel.

    Raises
    ------
    RegionError
        Where the quarters still disagree after several passes.

    Returns
    -------
    ndarray, shape (h, w)
        The second shot, resampled by splines of fifth order if need be.
    float
        How far its corners lay off, in pixels; 0 where it was left alone.
    """
    from scipy.ndimage import affine_transform

    if min(first.shape) < 2 * LEAST_SIDE_PX:
        return second, 0.0
    centre = (np.array(first.shape) - 1) / 2
    matrix, straight = np.eye(2), second
    for turn in range(MOST_PASSES + 1):
        slopes = _slopes(first, straight)
        if slopes is None:
            break
        if turn == MOST_PASSES:
            if np.abs(slopes @ centre).max() < LARGEST_LEFT_PX:
                break
            raise RegionError(
                "the second shot is turned or scaled against the first beyond what their grain "
                "can tell: register both to the patch and cut the same piece from each"
            )
        matrix = matrix @ (np.eye(2) + slopes)
        straight = affine_transform(
            second, matrix, centre - matrix @ centre, order=5, mode="mirror", output=np.float64
        )
    corners = np.array([[1, 1], [1, -1]]) * centre
    return straight, float(np.abs((matrix - np.eye(2)) @ corners.T).max())


def _slopes(first: FloatArray, second: FloatArray) -> FloatArray | None:
    """Change of the (row, column) shift of the second shot per row and column; None by chance."""
    half = np.array(first.shape) // 2
    places, shifts, weights = [], [], []
    for top in (0, half[0]):
        for left in (0, half[1]):
            part = np.s_[top : top + half[0], left : left + half[1]]
            found = shift_between(detrended(first[part]), detrended(second[part]))
            places.append((1.0, float(top > 0), float(left > 0)))
            shifts.append(found.shift_px[::-1])
            weights.append(1 / (found.error_px**2 + LEAST_ERROR_PX**2))
    values, weight = np.array(shifts), np.array(weights)[:, None]
    mean = np.sum(weight * values, axis=0) / weight.sum()
    if np.sum(weight * (values - mean) ** 2) < UNLIKELY:
        return None
    root = np.sqrt(weight)
    fitted = np.linalg.lstsq(np.array(places) * root, values * root, rcond=None)[0]
    return np.asarray((fitted[1:] / half[:, None]).T)


def _window(length: int) -> FloatArray:
    """Flat window with cosine edges."""
    position = (np.arange(length) + 0.5) / length
    inward = np.minimum(position, 1 - position) / EDGE_SHARE
    return np.sin(np.pi / 2 * np.minimum(inward, 1)) ** 2
