"""Local shifts between an observed image and a reference seen through a homography."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.registration.homography import map_points
from dotloupe.registration.working_resolution import BLUR_PX, working_homography

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray
    from dotloupe.registration.working_resolution import Level


EDGE_SHARES = (0.3, 2.0)
"""Believed of the contrast at edges; what lies beyond is no blur or sharpening of the reference."""


@dataclass(frozen=True)
class WindowShifts:
    """Shift of each window: observed(x) looks like reference(H(x + shift)).

    Attributes
    ----------
    centres, shifts : (n, 2) arrays
        (x, y) in observed pixels.
    covariance : (n, 2, 2) array
        Of each shift, from the residue of its own fit, in observed pixels squared. Large along
        an edge that does not say where it is; infinite where a window holds nothing.
    correlation : (n,) array
        Of the observed window with the prediction at the shift found; 0 where it is inverted.
    window_px, step_px : float
        Side of the windows, and the working pixel in which they were measured, in observed pixels.
    """

    centres: FloatArray
    shifts: FloatArray
    covariance: FloatArray
    correlation: FloatArray
    window_px: float
    step_px: float


def measure_level(
    level: Level,
    homography: FloatArray,
    centres: FloatArray,
    radius: int,
    *,
    dot_gain: bool = False,
) -> WindowShifts:
    """Least-squares shift of each window in one linear step.

    Gain, slopes of gain, offset and a difference of blur (by the Laplacian) are further unknowns:
    left out, uneven light and an edge off the middle of its window would pass for shifts.

    The gradient is that of the noise-free reference, so noise does not shrink the shift, and
    neither image is resampled against the other: the reference is evaluated where the
    homography says (Lucas and Kanade 1981).

    Parameters
    ----------
    level : Level
    homography : (3, 3) array
        Observed pixel to reference pixel, of the images given.
    centres : (n, 2) array
        Whole working pixels (x, y), from `usable_centres`.
    radius : int
        Windows are 2 * radius + 1 working pixels wide, tapered.
    dot_gain : bool
        How far dark has spread over light is a further unknown.
    """
    first = centres.astype(int) - radius - 1
    predicted = _predicted(level, working_homography(level, homography), first, 2 * radius + 3)
    seen = _windows(level.observed, first + 1, 2 * radius + 1)
    taper = np.sin(np.pi * (np.arange(2 * radius + 1) + 0.5) / (2 * radius + 1))
    weight = np.outer(taper, taper).ravel()
    weight /= weight.sum()
    slope = (np.arange(-radius, radius + 1) / radius).astype(np.float32)
    basis = _basis(predicted, seen, slope, dot_gain)
    basis -= (basis @ weight.astype(np.float32))[:, :, None]
    moments = ((basis * weight.astype(np.float32)) @ basis.transpose(0, 2, 1)).astype(float)
    projections, power = moments[:, :-1, -1], moments[:, -1, -1]
    pixels = 1.0 / np.sum(weight**2)
    shifts, covariance, correlation = _solve(moments[:, :-1, :-1], projections, power, pixels)
    return WindowShifts(
        centres=map_points(level.observed_to_full, centres),
        shifts=shifts * level.step_px,
        covariance=covariance * level.step_px**2,
        correlation=correlation,
        window_px=(2 * radius + 1) * level.step_px,
        step_px=level.step_px,
    )


def _predicted(level: Level, inner: FloatArray, first: NDArray[np.intp], side: int) -> FloatArray:
    """Reference where windows look, float32, from their first columns and rows and their side.

    Windows overlap, so each working pixel is looked up once for all that share it.
    """
    looked_at = np.zeros(level.observed.shape, dtype=bool)
    for column, row in first:
        looked_at[row : row + side, column : column + side] = True
    y, x = np.nonzero(looked_at)
    depth = inner[2, 0] * x + inner[2, 1] * y + inner[2, 2]
    places = np.empty((2, *depth.shape))
    for place, row in ((places[1], inner[0]), (places[0], inner[1])):
        np.divide(row[0] * x + row[1] * y + row[2], depth, out=place)
    frame = np.zeros(looked_at.shape, dtype=np.float32)
    frame[looked_at] = scipy.ndimage.map_coordinates(
        level.spline, places, np.float32, order=3, prefilter=False, mode="nearest"
    )
    return _windows(frame, first, side)


def _windows(image: FloatArray, first: NDArray[np.intp], side: int) -> FloatArray:
    """Square windows of an image by their first columns and rows, shape (windows, side, side)."""
    every = np.lib.stride_tricks.sliding_window_view(image, (side, side))
    return np.asarray(every[first[:, 1], first[:, 0]])


def _basis(
    predicted: FloatArray, seen: FloatArray, slope: FloatArray, dot_gain: bool
) -> FloatArray:
    """What the windows are explained by and, last, the windows: shape (windows, 7 or 8, pixels)."""
    left, right = predicted[:, 1:-1, :-2], predicted[:, 1:-1, 2:]
    upper, lower = predicted[:, :-2, 1:-1], predicted[:, 2:, 1:-1]
    middle = predicted[:, 1:-1, 1:-1]
    basis = np.empty((len(seen), 8 if dot_gain else 7, *seen.shape[1:]), dtype=np.float32)
    inside = basis[:, 2]
    np.subtract(right, left, out=basis[:, 0])
    np.subtract(lower, upper, out=basis[:, 1])
    basis[:, :2] /= 2
    np.add(middle, np.float32(_black(seen, middle)), out=inside)
    np.multiply(inside, slope, out=basis[:, 3])
    np.multiply(inside, slope[:, None], out=basis[:, 4])
    curved = basis[:, 5]
    np.add(left, right, out=curved)
    curved += upper
    curved += lower
    curved -= 4 * middle
    if dot_gain:
        # Edges moved towards the light by one length differ from the reference by their slope.
        np.hypot(basis[:, 0], basis[:, 1], out=basis[:, 6])
    basis[:, -1] = seen
    return basis.reshape(len(seen), basis.shape[1], -1)


def _black(seen: FloatArray, predicted: FloatArray) -> float:
    """What the observed scale adds to the reference, in units of the reference.

    Light multiplies the black of the print too, so slopes of gain act on the sum.
    """
    mean = float(predicted.mean(dtype=float))
    across = predicted - np.float32(mean)
    power = float(np.einsum("nij,nij->", across, across)) / across.size
    gain = float(np.einsum("nij,nij->", across, seen)) / across.size / power if power > 0 else 0.0
    if gain <= 0:
        return 0.0
    offset = float(seen.mean(dtype=float)) / gain - mean
    return float(np.clip(offset, 0.0, 0.5 * np.abs(predicted).max()))


def _edge_share(moments: FloatArray, projections: FloatArray) -> float:
    """Contrast left at the frequencies that tell of shifts, over that of the whole, of all windows.

    Print and lens blur the observed windows, so that a shift shows in them by less than the gain
    times the reference's gradient. The Laplacian weighs frequencies as two gradients do (by parts).
    """
    at_edges = projections[:, 5].sum() / min(moments[:, 2, 5].sum(), -1e-18)
    of_all = projections[:, 2].sum() / max(moments[:, 2, 2].sum(), 1e-18)
    share = at_edges / of_all if of_all > 0 else 1.0
    return float(np.clip(share, *EDGE_SHARES))


def _solve(
    moments: FloatArray, projections: FloatArray, power: FloatArray, pixels: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Shift, covariance and correlation of each window from its normal equations.

    With the other unknowns eliminated there remain two equations for gain times shift; they
    are solved along their principal axes, so that a lone edge still gives its one component.
    """
    plain = np.maximum(moments[:, 2, 2], 1e-18)
    eye = 1e-9 * plain[:, None, None] * np.eye(moments.shape[1] - 2)
    tone = np.linalg.inv(moments[:, 2:, 2:] + eye)
    cross = moments[:, :2, 2:] @ tone
    reduced = moments[:, :2, :2] - cross @ moments[:, 2:, :2]
    right = projections[:, :2] - np.einsum("nij,nj->ni", cross, projections[:, 2:])
    values, axes = np.linalg.eigh(reduced)
    values = np.maximum(values, 0.0)
    known = values > 1e-6 * plain[:, None]
    along = np.einsum("nij,ni->nj", axes, right)
    moved = np.where(known, along / np.where(known, values, 1.0), 0.0)
    scaled_shift = np.einsum("nij,nj->ni", axes, moved)
    gain = np.einsum("nj,nj->n", tone[:, 0], projections[:, 2:]) - np.einsum(
        "nj,nj->n", cross[:, :, 0], scaled_shift
    )
    explained = np.sum(along * moved, axis=1) + np.einsum(
        "ni,nij,nj->n", projections[:, 2:], tone, projections[:, 2:]
    )
    holds = (gain > 0) & (plain > 1e-12) & (power > 1e-18)
    share = np.where(holds, explained / np.where(power > 0, power, 1.0), 0.0)
    correlation = np.sqrt(np.clip(share, 0.0, 1.0))
    share_at_edges = _edge_share(moments[holds], projections[holds])
    safe_gain = np.where(holds, gain, 1.0) * share_at_edges
    shifts = np.where(holds[:, None], scaled_shift / safe_gain[:, None], 0.0)
    # The blur correlates the noise of neighbours over 4 pi BLUR_PX^2 pixels.
    residue = np.maximum(power - explained, 1e-7 * power) * 4 * np.pi * BLUR_PX**2 / pixels
    variance = np.where(
        known & holds[:, None],
        residue[:, None] / np.where(known, values, 1.0) / safe_gain[:, None] ** 2,
        1e12,
    )
    covariance = np.einsum("nij,nj,nkj->nik", axes, variance, axes)
    return shifts, covariance, correlation
