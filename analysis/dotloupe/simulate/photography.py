"""Photograph a print: lens, sheet and sensor in one go, with the truth kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import fft

from dotloupe.simulate.camera import Camera, Shot, camera_pose
from dotloupe.simulate.optics import (
    defocus_disc_mm,
    demosaic_transfer,
    lens_transfer,
    pixel_transfer,
)
from dotloupe.simulate.sensor import develop, encode, expose, mosaic_sites
from dotloupe.simulate.sheet import LUMINANCE, sheet_texture
from dotloupe.simulate.spectrum import fourier_grid

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray
    from dotloupe.simulate.camera import CameraPose
    from dotloupe.simulate.sheet import Sheet

_STEP_MM = 0.012
_REACH_MM = 0.25
_MOST_LEVELS = 5


@dataclass(frozen=True)
class Photograph:
    """A simulated photograph and all that is true of it.

    Attributes
    ----------
    linear : (h, w, 3) float32 array
        Developed picture in linear light over green's full scale, before coding.
    mosaic : (h, w) float32 array
        What the converter gave for each pixel of the colour mosaic, over its full scale; red is
        at even rows and columns, blue at odd ones.
    pose : CameraPose
        Exact geometry; `homography` is taken from it.
    levels_mm : (n,) array
        Defocus discs, in mm, between whose pictures each pixel's was mixed.
    """

    linear: FloatArray
    mosaic: FloatArray
    pose: CameraPose
    levels_mm: FloatArray

    @property
    def camera(self) -> Camera:
        """The camera."""
        return self.pose.camera

    @property
    def shot(self) -> Shot:
        """The shot."""
        return self.pose.shot

    @property
    def homography(self) -> FloatArray:
        """Capture pixel (x, y, 1), centres at integers, to patch mm, for the flat sheet."""
        return self.pose.homography

    def coded(self, bits: int = 8) -> NDArray[np.unsignedinteger]:
        """SRGB-coded picture (h, w, 3) of 8 or 16 bits, as a file holds it."""
        return encode(self.linear, self.shot, bits)

    def defocus_disc_mm(self, x_px: FloatArray, y_px: FloatArray) -> FloatArray:
        """Diameter of the defocus disc on the sheet at capture pixels."""
        x_mm, y_mm = self.pose.to_mm(x_px, y_px)
        return defocus_disc_mm(self.camera, self.shot, self.pose.defocus_mm(x_mm, y_mm))

    def camera_mtf(
        self,
        frequency: FloatArray,
        x_px: float,
        y_px: float,
        *,
        direction_deg: float = 0.0,
        weights: tuple[float, float, float] = LUMINANCE,
    ) -> FloatArray:
        """True transfer of the camera at one place of the frame, pixel and demosaic included.

        Parameters
        ----------
        frequency : (n,) array
            Cycles/mm on the sheet.
        x_px, y_px : float
            Place in the frame.
        direction_deg : float
            Direction of the frequency from the sheet's x axis; 0 for modulation along x.
        weights : tuple of float
            Weights of red, green and blue in the picture measured. Sharpening is not in it.
        """
        angle = np.deg2rad(direction_deg)
        fx, fy = frequency * np.cos(angle), frequency * np.sin(angle)
        disc = self.defocus_disc_mm(np.array([x_px]), np.array([y_px]))
        low, share = _between(disc, self.levels_mm)
        total = np.zeros_like(fx)
        for band, weight in enumerate(weights):
            sharper, softer = (
                lens_transfer(self.camera, self.shot, band, frequency, self.levels_mm[level])
                for level in (low[0], low[0] + 1)
            )
            lens = (1.0 - share[0]) * sharper + share[0] * softer
            total += weight / sum(weights) * lens * demosaic_transfer(band, fx, fy, self.shot)
        return np.abs(total * pixel_transfer(self.camera, self.shot, fx, fy))


def photograph(
    sheet: Sheet, *, camera: Camera | None = None, shot: Shot | None = None
) -> Photograph:
    """Photograph a simulated print, blank sheet or blade.

    The frame may show more than the sheet holds: blank paper goes on beyond it.

    Parameters
    ----------
    sheet : Sheet
    camera : Camera, optional
    shot : Shot, optional
    """
    import cv2

    camera = camera or Camera()
    shot = shot or Shot()
    centre = shot.centre_mm or (0.5 * sheet.width_mm, 0.5 * sheet.height_mm)
    pose = camera_pose(camera, shot, centre)
    y_px, x_px = np.mgrid[0 : camera.height_px, 0 : camera.width_px].astype(np.float64)
    x_mm, y_mm = pose.to_mm(x_px, y_px)
    disc_mm = defocus_disc_mm(camera, shot, pose.defocus_mm(x_mm, y_mm))
    count = 2 + int((disc_mm.max() - disc_mm.min()) / _STEP_MM)
    levels_mm = np.linspace(disc_mm.min(), disc_mm.max(), min(count, _MOST_LEVELS))
    low, share = _between(disc_mm, levels_mm)
    share = share.astype(np.float32)
    map_x = sheet.to_pixel(x_mm).astype(np.float32)
    map_y = sheet.to_pixel(y_mm).astype(np.float32)
    del x_mm, y_mm, disc_mm

    beyond, paper = _paper_beyond(sheet, map_x, map_y)
    mosaic = np.empty((camera.height_px, camera.width_px), dtype=np.float32)
    for band, blurred in enumerate(_blurred(sheet, camera, shot, levels_mm)):
        lit = np.zeros_like(mosaic)
        for level, picture in enumerate(blurred):
            seen = cv2.remap(picture, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
            seen[beyond] = paper
            lit += seen * np.where(low == level, 1.0 - share, np.where(low == level - 1, share, 0))
        for sites in mosaic_sites(band):
            mosaic[sites] = lit[sites]
    mosaic *= pose.light(x_px, y_px).astype(np.float32)
    raw = expose(mosaic, camera, shot)
    return Photograph(linear=develop(raw, camera), mosaic=raw, pose=pose, levels_mm=levels_mm)


def _paper_beyond(
    sheet: Sheet, map_x: FloatArray, map_y: FloatArray
) -> tuple[NDArray[np.bool_], FloatArray]:
    """Which pixels of the frame look past the sheet, and the mirrored relief they see there."""
    import cv2

    shape = (sheet.bands.shape[1], sheet.bands.shape[2])
    beyond = (map_x < 0) | (map_y < 0) | (map_x > shape[1] - 1) | (map_y > shape[0] - 1)
    if not beyond.any():
        return beyond, np.empty(0, dtype=np.float32)
    relief = sheet_texture(sheet.paper, shape, sheet.pixels_per_mm, sheet.seed)
    seen = cv2.remap(relief, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
    return beyond, np.asarray(seen[beyond], dtype=np.float32)


def _between(disc_mm: FloatArray, levels_mm: FloatArray) -> tuple[NDArray[np.int64], FloatArray]:
    """Level below each disc, and how far it is towards the next."""
    step = max(float(levels_mm[1] - levels_mm[0]), 1e-12)
    place = np.clip((disc_mm - levels_mm[0]) / step, 0.0, levels_mm.size - 1.0)
    low = np.minimum(place.astype(np.int64), levels_mm.size - 2)
    return low, place - low


def _blurred(
    sheet: Sheet, camera: Camera, shot: Shot, levels_mm: FloatArray
) -> Iterator[list[FloatArray]]:
    """For each band, the print through the camera's transfer at each defocus disc.

    What the linear interpolation between pixels of the fine grid will blur is put in beforehand.
    """
    import cv2

    rows, cols = sheet.bands.shape[1:]
    reach = round(_REACH_MM * sheet.pixels_per_mm)
    grid = fourier_grid((rows, cols), 2 * reach, sheet.pixels_per_mm)
    border = (reach, grid.shape[0] - rows - reach, reach, grid.shape[1] - cols - reach)
    fixed = pixel_transfer(camera, shot, grid.fx, grid.fy)
    fixed /= np.sinc(grid.fx / sheet.pixels_per_mm) ** 2
    fixed /= np.sinc(grid.fy / sheet.pixels_per_mm) ** 2
    radial, nearest = grid.radial_lookup()
    for band in range(3):
        wide = cv2.copyMakeBorder(sheet.bands[band], *border, cv2.BORDER_REFLECT_101)
        spectrum = fft.rfft2(np.asarray(wide, dtype=np.float32), overwrite_x=True)
        spectrum *= fixed
        pictures: list[FloatArray] = []
        for disc_mm in levels_mm:
            lens = lens_transfer(camera, shot, band, radial, float(disc_mm)).astype(np.float32)
            seen = fft.irfft2(spectrum * np.take(lens, nearest), grid.shape, overwrite_x=True)
            pictures.append(np.ascontiguousarray(seen[reach : reach + rows, reach : reach + cols]))
        yield pictures
