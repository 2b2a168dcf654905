"""A picture and the photograph of its print on one grid, the photograph never resampled."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy

from dotloupe.errors import RegionError
from dotloupe.measure import coarser
from dotloupe.registration.homography import jacobian, map_points
from dotloupe.registration.reduced_images import reduced_luminance, reduction_matrix
from dotloupe.registration.working_resolution import sampling_ratio

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.capture import Capture, SentPicture

GRID_PER_PICTURE_PX = 4.0
"""Finest grid worth having: the picture ends at an eighth of its sampling."""
MOST_GRID_PIXELS = 5e6
MARGIN_PX = 4.0
"""Picture pixels kept from the picture's border, where its interpolation knows one side only."""
OVERSAMPLING = 2
"""A spline of the fifth degree then follows what the picture holds to 0.2 % at its very end:
1 / (1 + (f / (1 - f))^6 + ...) at f = 1/4 (Unser, IEEE Signal Process. Mag. 16
(1999) 22; from memory)."""
LIGHT_BLOCK_PX = 16.0
"""Pixels a block, of the coarser of both: blur hardly changes the means of so many."""
LIGHT_DEGREE = 2
BLACKS = (-0.02, 0.4)
"""Light of a print's black against its white, from a camera's own offset to faded ink."""


@dataclass(frozen=True)
class PictureGrid:
    """What was sent and what came out, pixel by pixel.

    Attributes
    ----------
    sent, captured : ndarray of shape (h, w)
        Linear reflectance; the fall of the light is taken out of the captured one, so that where
        white was sent it is 1.
    per_picture_px : float
        Grid pixels per picture pixel.
    turned_deg : float
        Direction of the picture's x in the grid, from the grid's x towards its y.
    """

    sent: FloatArray
    captured: FloatArray
    per_picture_px: float
    turned_deg: float


def picture_grid(capture: Capture, picture: SentPicture, homography: FloatArray) -> PictureGrid:
    """Evaluate a picture in the pixels of its photograph.

    The photograph is at most averaged over whole blocks of its pixels, and the picture over the
    same; the picture is interpolated to its very end in frequency, and low-passed where the
    photograph's pixels are the coarser ones.

    Parameters
    ----------
    capture : Capture
    picture : SentPicture
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to picture pixel.

    Raises
    ------
    RegionError
        The frame shows next to nothing of the picture.
    """
    middle = (np.array(capture.shape[::-1]) - 1) / 2
    scale = sampling_ratio(homography, middle)
    factor = max(1, int(scale / GRID_PER_PICTURE_PX))
    to_picture = homography @ reduction_matrix(factor)
    shape = (capture.shape[0] // factor, capture.shape[1] // factor)
    rows, columns = _shared_rectangle(to_picture, shape, picture.shape)
    rows, columns = _limited(rows), _limited(columns)
    to_picture = to_picture @ np.array([[1, 0, columns.start], [0, 1, rows.start], [0, 0, 1.0]])
    captured = reduced_luminance(capture, factor, rows, columns)
    sent = _interpolated(picture.light(), to_picture, captured.shape, scale / factor)
    # A mean over n pixels each way is, to the fourth order, this much of a Laplacian.
    sent += np.float32((1 - 1 / factor**2) / 24) * scipy.ndimage.laplace(sent, mode="nearest")
    centre = (float(captured.shape[1] / 2), float(captured.shape[0] / 2))
    across = np.linalg.inv(jacobian(to_picture, centre))[:, 0]
    return PictureGrid(
        sent=sent,
        captured=captured / _light(sent, captured, scale / factor),
        per_picture_px=scale / factor,
        turned_deg=float(np.rad2deg(np.arctan2(across[1], across[0]))),
    )


def _limited(span: slice) -> slice:
    """The middle of a span, so that the grid does not outgrow its most pixels."""
    length, most = span.stop - span.start, int(np.sqrt(MOST_GRID_PIXELS))
    first = span.start + max(0, length - most) // 2
    return slice(first, first + min(length, most))


def _shared_rectangle(
    to_picture: FloatArray, shape: tuple[int, int], picture_shape: tuple[int, int]
) -> tuple[slice, slice]:
    """Largest upright rectangle of the grid that shows nothing but the picture."""
    steps = [max(1, n // 64) for n in shape]
    y, x = (np.arange(0, n, step) for n, step in zip(shape, steps, strict=True))
    places = np.stack(np.broadcast_arrays(x[None, :], y[:, None]), axis=-1).astype(float)
    depth = places @ to_picture[2, :2] + to_picture[2, 2]
    mapped = map_points(to_picture, places)
    size = np.array(picture_shape[::-1])
    inside = np.all((mapped >= MARGIN_PX) & (mapped <= size - 1 - MARGIN_PX), axis=-1)
    top, bottom, left, right = _largest_rectangle(inside & (depth > 0))
    if min(bottom - top, right - left) < 2:
        raise RegionError("own picture: the frame shows next to nothing of it; move closer to it")
    return (
        slice(int(y[top]), int(y[bottom - 1]) + 1),
        slice(int(x[left]), int(x[right - 1]) + 1),
    )


def _largest_rectangle(inside: FloatArray) -> tuple[int, int, int, int]:
    """Top, bottom, left and right of the largest rectangle that is true throughout."""
    best, found = 0, (0, 0, 0, 0)
    for top in range(len(inside)):
        held = np.ones(inside.shape[1], dtype=bool)
        for bottom in range(top + 1, len(inside) + 1):
            held &= inside[bottom - 1]
            if not held.any():
                break
            edges = np.flatnonzero(np.diff(np.concatenate([[0], held.view(np.int8), [0]])))
            lengths = edges[1::2] - edges[::2]
            longest = int(np.argmax(lengths))
            area = (bottom - top) * int(lengths[longest])
            if area > best:
                left = int(edges[2 * longest])
                best, found = area, (top, bottom, left, left + int(lengths[longest]))
    return found


def _interpolated(
    light: FloatArray, to_picture: FloatArray, shape: tuple[int, ...], per_picture_px: float
) -> FloatArray:
    """The picture at the grid's pixels, band-limited by its own sampling and by the grid's."""
    corners = np.array([[0, 0], [shape[1] - 1, 0], [shape[1] - 1, shape[0] - 1], [0, shape[0] - 1]])
    mapped = map_points(to_picture, corners.astype(float))
    size = np.array(light.shape[::-1])
    margin = 16 * max(1.0, 1 / per_picture_px)
    low = np.clip(np.floor(mapped.min(axis=0) - margin), 0, size).astype(int)
    high = np.clip(np.ceil(mapped.max(axis=0) + margin) + 1, 0, size).astype(int)
    part = light[low[1] : high[1], low[0] : high[0]]
    density = OVERSAMPLING * min(1.0, per_picture_px)
    fine, steps = _resampled(part, density, 0.5 * min(1.0, per_picture_px))
    spline = scipy.ndimage.spline_filter(fine, order=5, output=np.float32, mode="mirror")
    result = np.empty(shape, np.float32)
    x = np.arange(shape[1], dtype=float)
    for top in range(0, shape[0], 256):
        y = np.arange(top, min(top + 256, shape[0]), dtype=float)
        places = np.stack(np.broadcast_arrays(x[None, :], y[:, None]), axis=-1)
        at = (map_points(to_picture, places) - low) / steps
        result[top : top + len(y)] = scipy.ndimage.map_coordinates(
            spline, [at[..., 1], at[..., 0]], order=5, prefilter=False, mode="mirror"
        )
    return result


def _resampled(part: FloatArray, density: float, highest: float) -> tuple[FloatArray, FloatArray]:
    """Picture at another density by its cosine transform, nothing above a frequency kept.

    Returns the samples, and their spacing along x and y in pixels of the part; the first sample
    lies on the part's first pixel.
    """
    for axis in (0, 1):
        length = part.shape[axis]
        # A cosine transform of the first kind mirrors about the first and the last pixel.
        wanted = max(round((length - 1) * density) + 1, 8)
        spectrum = scipy.fft.dct(part, type=1, axis=axis)
        kept = min(length, wanted, int(2 * highest * (length - 1)) + 1)
        whole = np.zeros((*part.shape[:axis], wanted, *part.shape[axis + 1 :]), np.float32)
        taken = [slice(None)] * 2
        taken[axis] = slice(0, kept)
        whole[tuple(taken)] = spectrum[tuple(taken)]
        if kept == length < wanted:
            # The last of the old terms counted half, and is one of many now.
            whole[(*taken[:axis], length - 1, *taken[axis + 1 :])] /= 2
        part = scipy.fft.idct(whole, type=1, axis=axis) * np.float32((wanted - 1) / (length - 1))
        spacing = (length - 1) / (wanted - 1)
        if axis == 0:
            spacing_y = spacing
    return part, np.array([spacing, spacing_y])


def _light(sent: FloatArray, captured: FloatArray, per_picture_px: float) -> FloatArray:
    """Light over the frame: captured is light times a straight line in what was sent.

    A surface of the second degree for the light is fitted for each level of the print's black,
    and the black that leaves least is taken; to means of blocks, so that neither detail nor grain
    weighs in.
    """
    side = min(sent.shape)
    block = int(np.clip(LIGHT_BLOCK_PX * max(per_picture_px, 1.0), side // 40, side // 8))
    rows, columns = (n // block for n in sent.shape)

    x, y = (np.asarray(coarser(image, block), dtype=float) for image in (sent, captured))
    v, u = np.meshgrid(np.linspace(-1, 1, rows), np.linspace(-1, 1, columns), indexing="ij")
    powers = [(i, j) for i in range(LIGHT_DEGREE + 1) for j in range(LIGHT_DEGREE + 1 - i)]
    surface = np.stack([(u**i * v**j).ravel() for i, j in powers], axis=1)

    def fitted(black: float) -> tuple[FloatArray, float]:
        tone = (black + (1 - black) * x).reshape(-1, 1)
        found = np.linalg.lstsq(surface * tone, y.ravel(), rcond=None)[0]
        return found, float(np.sum((surface * tone @ found - y.ravel()) ** 2))

    black = float(
        scipy.optimize.minimize_scalar(lambda b: fitted(b)[1], bounds=BLACKS, method="bounded").x
    )
    row_of = (np.arange(sent.shape[0]) - (block - 1) / 2) / block / max(rows - 1, 1) * 2 - 1
    column_of = (np.arange(sent.shape[1]) - (block - 1) / 2) / block / max(columns - 1, 1) * 2 - 1
    total = np.zeros(sent.shape, np.float32)
    for (i, j), coefficient in zip(powers, fitted(black)[0], strict=True):
        total += (coefficient * column_of[None, :] ** i * row_of[:, None] ** j).astype(np.float32)
    return np.maximum(total, 1e-4)
