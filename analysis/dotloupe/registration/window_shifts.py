"""Local shifts between an observed image and a reference seen through a homography."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import ndimage

from dotloupe.registration.working_resolution import (
    BLUR_PX,
    apply_homography,
    working_homography,
)

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.registration.working_resolution import Level


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
    level: Level, homography: FloatArray, centres: FloatArray, radius: int
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
    """
    inner = working_homography(level, homography)
    reach = np.arange(-radius - 1, radius + 2)
    x = centres[:, 0].astype(int)[:, None, None] + reach[None, None, :]
    y = centres[:, 1].astype(int)[:, None, None] + reach[None, :, None]
    grid = np.stack(np.broadcast_arrays(x, y), axis=-1).astype(float)
    mapped = apply_homography(inner, grid)
    predicted = ndimage.map_coordinates(
        level.spline, [mapped[..., 1], mapped[..., 0]], order=3, prefilter=False, mode="nearest"
    ).astype(float)
    seen = level.observed[y[:, 1:-1], x[:, :, 1:-1]].astype(float)
    count = len(centres)
    taper = np.sin(np.pi * (np.arange(2 * radius + 1) + 0.5) / (2 * radius + 1))
    weight = np.outer(taper, taper).ravel()
    weight /= weight.sum()

    def centred(values: FloatArray) -> FloatArray:
        flat = values.reshape(count, -1)
        return np.asarray(flat - (flat @ weight)[:, None])

    inside = predicted[:, 1:-1, 1:-1] + _black(seen, predicted[:, 1:-1, 1:-1])
    slope = reach[1:-1] / radius
    basis = np.stack(
        [
            centred((predicted[:, 1:-1, 2:] - predicted[:, 1:-1, :-2]) / 2),
            centred((predicted[:, 2:, 1:-1] - predicted[:, :-2, 1:-1]) / 2),
            centred(inside),
            centred(inside * slope),
            centred(inside * slope[:, None]),
            centred(
                predicted[:, 1:-1, 2:]
                + predicted[:, 1:-1, :-2]
                + predicted[:, 2:, 1:-1]
                + predicted[:, :-2, 1:-1]
                - 4 * predicted[:, 1:-1, 1:-1]
            ),
        ],
        axis=1,
    )
    target = centred(seen)
    weighted = basis * weight
    moments = weighted @ basis.transpose(0, 2, 1)
    projections = (weighted @ target[:, :, None])[:, :, 0]
    power = (target**2) @ weight
    pixels = 1.0 / np.sum(weight**2)
    shifts, covariance, correlation = _solve(moments, projections, power, pixels)
    return WindowShifts(
        centres=apply_homography(level.observed_to_full, centres),
        shifts=shifts * level.step_px,
        covariance=covariance * level.step_px**2,
        correlation=correlation,
        window_px=(2 * radius + 1) * level.step_px,
        step_px=level.step_px,
    )


def _black(seen: FloatArray, predicted: FloatArray) -> float:
    """What the observed scale adds to the reference, in units of the reference.

    Light multiplies the black of the print too, so slopes of gain act on the sum.
    """
    across = predicted - predicted.mean()
    power = float(np.mean(across**2))
    gain = float(np.mean(across * seen)) / power if power > 0 else 0.0
    if gain <= 0:
        return 0.0
    offset = float(seen.mean()) / gain - float(predicted.mean())
    return float(np.clip(offset, 0.0, 0.5 * np.abs(predicted).max()))


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
    safe_gain = np.where(holds, gain, 1.0)
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
