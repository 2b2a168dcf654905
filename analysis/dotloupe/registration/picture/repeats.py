"""Other places of a picture that look like the place where a frame was found."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np
import scipy

from dotloupe.registration.homography import map_points
from dotloupe.registration.picture.features import Candidate
from dotloupe.registration.picture.verification import band
from dotloupe.registration.working_resolution import block_mean, block_to_full

if TYPE_CHECKING:
    from collections.abc import Iterator

    from dotloupe.arrays import ComplexArray, FloatArray

PICTURE_PIXELS = 6e5
MOST_RIVALS = 4
ALIKE = 0.6
"""Self-correlation from which a place is worth trying as a rival."""


def find_repeats(
    picture: FloatArray, homography: FloatArray, shape: tuple[int, ...]
) -> list[Candidate]:
    """Homographies to places that resemble what a frame shows, at quarter turns and no other.

    Patterns and tilings repeat by displacement and by quarter turns; the picture itself tells
    where, free of the noise and the dots of the photograph.

    Parameters
    ----------
    picture : (H, W) array
        Linear luminance.
    homography : (3, 3) array
        Observed pixel to picture pixel, where the frame was found.
    shape : (h, w)
        Of the frame.
    """
    step = max(1, int(np.ceil(np.sqrt(picture.size / PICTURE_PIXELS))))
    small = scipy.ndimage.gaussian_filter(block_mean(picture, step), 0.7, mode="nearest")
    sought = band(small, np.ones(small.shape, dtype=bool))
    to_full = block_to_full(step)
    template, weight, middle = _shown(sought, np.linalg.inv(to_full) @ homography, shape)
    if template.size == 0 or not np.any(template):
        return []
    hits = []
    for quarter, surface in enumerate(_correlations(sought, template, weight)):
        top = (surface == cv2.dilate(surface, np.ones((5, 5), np.uint8))) & (surface > ALIKE)
        for row, column in np.argwhere(top):
            itself = quarter == 0 and np.hypot(column - middle[0], row - middle[1]) < 3
            if not itself:
                hits.append((float(surface[row, column]), quarter, float(column), float(row)))
    hits.sort(reverse=True)
    repeats = []
    for alike, quarter, x, y in hits[:MOST_RIVALS]:
        c, s = np.cos(quarter * np.pi / 2), np.sin(quarter * np.pi / 2)
        # A positive quarter of np.rot90 turns x towards -y in pixel coordinates.
        turn = np.array([[c, s, x], [-s, c, y], [0.0, 0.0, 1.0]])
        turn[:2, 2] -= turn[:2, :2] @ middle
        there = to_full @ turn @ np.linalg.inv(to_full) @ homography
        repeats.append(Candidate(there, alike, 2.0 * step))
    return repeats


def _shown(
    sought: FloatArray, homography: FloatArray, shape: tuple[int, ...]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """What the frame shows of the picture, its mask, and the pixel (x, y) of its middle."""
    height, width = shape
    corners = np.array([[0, 0], [width - 1, 0], [width - 1, height - 1], [0, height - 1]], float)
    outline = np.round(map_points(homography, corners)).astype(np.int32)
    mask = np.zeros(sought.shape, dtype=np.uint8)
    cv2.fillConvexPoly(mask, outline, 1)
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if len(rows) < 5 or len(columns) < 5:
        return np.zeros((0, 0)), np.zeros((0, 0)), np.zeros(2)
    # Odd sides keep the middle on a pixel through quarter turns.
    bottom = rows[0] + len(rows) - (len(rows) + 1) % 2
    right = columns[0] + len(columns) - (len(columns) + 1) % 2
    part = slice(rows[0], bottom), slice(columns[0], right)
    weight = mask[part].astype(np.float32)
    template = sought[part] * weight
    template -= weight * template.sum() / max(weight.sum(), 1.0)
    return template, weight, np.array([(columns[0] + right - 1) / 2, (rows[0] + bottom - 1) / 2])


def _correlations(
    sought: FloatArray, template: FloatArray, weight: FloatArray
) -> Iterator[FloatArray]:
    """Normalised correlation with a template turned by 0 to 3 quarters.

    At the pixel where the template's middle lies, of the shape of `sought`.
    """
    longest = max(template.shape)
    size = [scipy.fft.next_fast_len(n + longest, real=True) for n in sought.shape]
    of_ones, of_picture, of_square = (
        scipy.fft.rfft2(image, size) for image in (np.ones_like(sought), sought, sought**2)
    )
    area = weight.sum()
    floor = 0.02 * float(np.mean(sought**2)) * area
    power = np.sum(template**2)
    for quarter in range(4):
        turned, mask = np.rot90(template, quarter), np.rot90(weight, quarter)
        of_mask, of_template = (np.conj(scipy.fft.rfft2(part, size)) for part in (mask, turned))

        def correlated(spectrum: ComplexArray, shape: tuple[int, ...] = mask.shape) -> FloatArray:
            full = np.roll(scipy.fft.irfft2(spectrum, size), [n // 2 for n in shape], axis=(0, 1))
            return np.asarray(full[: sought.shape[0], : sought.shape[1]])

        inside = correlated(of_ones * of_mask) / area
        mean = correlated(of_picture * of_mask) / area
        energy = np.maximum(correlated(of_square * of_mask) - area * mean**2, floor)
        alike = correlated(of_picture * of_template) / np.sqrt(power * energy)
        yield np.where(inside > 0.5, alike, 0.0)
