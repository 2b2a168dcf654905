"""Cut elements of a patch out of a capture, on its own pixels or on whole blocks of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray, IntArray
from dotloupe.capture import LUMINANCE, Capture, Lighting, fit_lighting
from dotloupe.errors import RegionError
from dotloupe.patch import Patch, Region, clear_paper_mm
from dotloupe.registration.averaging import REACH, averaged, averaging_step
from dotloupe.registration.homography import jacobian, local_scale, map_points

PAPER_BOX_MM = 0.12
MOST_TILT_DEG = 12.0


@dataclass(frozen=True)
class Cut:
    """A region of a capture, turned by quarter turns so that its x runs along the patch's x.

    Its pixels are the capture's own or, of a finely sampled one, means over blocks of them.

    Attributes
    ----------
    reflectance : ndarray of shape (rows, columns, 3)
        Linear, the fall of the light taken out, paper = 1.
    pixels_per_mm_x, pixels_per_mm_y : float
        Pixels of this array per mm of the patch along its axes, at the middle of the region.
    centre_px : (float, float)
        The region's middle (x, y) in pixels of this array.
    tilt_deg : float
        Turn of the patch against the rows of this array.
    homography : ndarray of shape (3, 3)
        Pixel (x, y, 1) of this array to patch mm.
    """

    reflectance: FloatArray
    pixels_per_mm_x: float
    pixels_per_mm_y: float
    centre_px: tuple[float, float]
    tilt_deg: float
    homography: FloatArray

    @property
    def luminance(self) -> FloatArray:
        """Luminance factor, shape (rows, columns)."""
        return self.reflectance @ LUMINANCE


def paper_lighting(capture: Capture, patch: Patch, homography: FloatArray) -> Lighting:
    """Fall of the light over the frame, from the clear paper between the elements.

    Parameters
    ----------
    capture : Capture
    patch : Patch
        What the capture shows.
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm.
    """
    to_capture = np.linalg.inv(homography)
    points = map_points(to_capture, clear_paper_mm(patch))
    middle_mm = (patch.size_mm[0] / 2, patch.size_mm[1] / 2)
    scale = local_scale(to_capture, middle_mm)
    half = max(1, round(PAPER_BOX_MM * scale / 2))
    rows, columns = capture.shape
    inside = np.all((points > half) & (points < np.array([columns, rows]) - half - 1), axis=1)
    points = points[inside]
    step = averaging_step(scale)
    side = 2 * half + 1
    every = np.lib.stride_tricks.sliding_window_view(capture.pixels, (side, side), axis=(0, 1))
    thinned = every[..., half % step :: step, half % step :: step].transpose(0, 1, 3, 4, 2)
    first_x, first_y = np.round(points).astype(int).T - half
    boxes = thinned[first_y, first_x].transpose(1, 2, 0, 3)
    light = capture.linear.take(boxes) / capture.paper_level
    return fit_lighting(points, light.mean(axis=(0, 1)))


def cut_region(
    capture: Capture,
    homography: FloatArray,
    lighting: Lighting,
    region: Region,
    *,
    margin_mm: float = 0.0,
    step: int = 1,
) -> Cut:
    """Cut out the upright rectangle of a region, larger or smaller by a margin.

    Parameters
    ----------
    capture : Capture
    homography : ndarray of shape (3, 3)
        Capture pixel (x, y, 1) to patch mm.
    lighting : Lighting
        The fall of the light, to be taken out.
    region : Region
    margin_mm : float
        Added on all sides.
    step : int
        Side of the blocks of capture pixels that become one pixel of the cut.

    Raises
    ------
    RegionError
        The region reaches over the frame, or the patch lies too far from upright.
    """
    to_capture = np.linalg.inv(homography)
    local = jacobian(to_capture, region.centre_mm)
    angle = np.degrees(np.arctan2(local[1, 0], local[0, 0]))
    quarter = round(angle / 90) % 4
    tilt = float((angle + 45) % 90 - 45)
    if abs(tilt) > MOST_TILT_DEG:
        raise RegionError(
            f"the patch is turned by {tilt:.0f} degrees; turn the sheet or the camera"
        )
    per_mm_x, per_mm_y = (1 / np.linalg.norm(np.linalg.inv(local), axis=1)).tolist()
    centre = map_points(to_capture, np.array([region.centre_mm]))[0]
    half = np.array(
        [
            (region.width_mm / 2 + margin_mm) * per_mm_x,
            (region.height_mm / 2 + margin_mm) * per_mm_y,
        ]
    )
    half = half[::-1] if quarter % 2 else half
    first = np.round(centre - half).astype(int)
    last = np.round(centre + half).astype(int) + 1
    rows, columns = capture.shape
    if np.any(first < 0) or last[0] > columns or last[1] > rows:
        raise RegionError(f"{region.name} is cut by the frame; photograph the whole patch")
    flat = _flat(capture, lighting, first, (last - first) // step, step)
    from_turned = _turned_back(flat.shape[:2], quarter)
    to_frame = _from_blocks(first, step)
    place = map_points(np.linalg.inv(to_frame @ from_turned), centre[None])[0]
    return Cut(
        reflectance=np.rot90(flat, quarter),
        pixels_per_mm_x=per_mm_x / step,
        pixels_per_mm_y=per_mm_y / step,
        centre_px=(float(place[0]), float(place[1])),
        tilt_deg=tilt,
        homography=homography @ to_frame @ from_turned,
    )


def _flat(
    capture: Capture, lighting: Lighting, first: IntArray, blocks: IntArray, step: int
) -> FloatArray:
    """Reflectance of blocks of pixels from `first` (x, y) on, the fall of the light taken out."""
    rim = 0 if step == 1 else REACH
    size = np.array(capture.shape[::-1])
    before = np.minimum(first // step, rim)
    after = np.minimum((size - first) // step - blocks, rim)
    start, stop = first - before * step, first + (blocks + after) * step
    pixels = capture.region(slice(start[1], stop[1]), slice(start[0], stop[0]))
    if step > 1:
        left, top = before
        width, height = blocks
        pixels = averaged(pixels, step)[top : top + height, left : left + width]
    x, y = (o + (np.arange(n) + 0.5) * step - 0.5 for o, n in zip(first, blocks, strict=True))
    pixels /= lighting.over_grid(x, y)
    return pixels


def _from_blocks(first: IntArray, step: int) -> FloatArray:
    """Homography from a pixel of blocks of step x step pixels, from `first` on, to the frame's."""
    x, y = first + (step - 1) / 2
    return np.array([[step, 0, x], [0, step, y], [0, 0, 1.0]])


def _turned_back(shape: tuple[int, ...], quarter_turns: int) -> FloatArray:
    """Pixel (x, y, 1) of np.rot90 of an array by quarter turns to its pixel before."""
    rows, columns = shape[0], shape[1]
    back = np.eye(3)
    for _ in range(quarter_turns):
        back = back @ np.array([[0, -1, columns - 1], [1, 0, 0], [0, 0, 1.0]])
        rows, columns = columns, rows
    return back
