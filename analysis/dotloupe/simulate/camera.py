"""The invented camera and one shot with it: parameters, and where the sheet lies in the frame."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray


@dataclass(frozen=True)
class Camera:
    """Body and lens.

    Attributes
    ----------
    name : str
        An invented name.
    width_px, height_px : int
        Pixels of a frame, even. 2560 x 1720 at 80 pixels/mm hold a 30 x 20 mm patch.
    pitch_um : float
        Pixel pitch. With 80 pixels/mm on the print the image is 0.32 of life size.
    fill : float
        Side of the square light-gathering aperture over the pitch; microlenses bring it near 1.
    f_number : float
        Marked aperture; 5.6 is where macro lenses are best.
    distance_mm : float
        From the lens's entrance pupil to the sheet; sets how strong perspective is.
    aberration_px : float
        Standard deviation of a Gaussian for the lens's aberrations and the sensor's filter stack.
    wavelength_um : tuple of float
        Centre of the red, green and blue bands, for diffraction.
    full_well_e, read_noise_e : float
        Charge of a full pixel and noise of its reading, in electrons; usual for 4 um pixels.
    sensitivity : tuple of float
        Share of green's charge that red, green and blue pixels collect from white paper.
    pixel_gain_rms, pixel_offset_rms_e : float
        Fixed pattern: spread of gain (relative) and of dark offset among pixels.
    bits : int
        Levels of the converter.
    serial : int
        Seed of the fixed pattern, the same in all shots of one camera.
    """

    name: str = "invented macro camera"
    width_px: int = 2560
    height_px: int = 1720
    pitch_um: float = 4.0
    fill: float = 1.0
    f_number: float = 5.6
    distance_mm: float = 250.0
    aberration_px: float = 0.5
    wavelength_um: tuple[float, float, float] = (0.61, 0.54, 0.46)
    full_well_e: float = 30000.0
    read_noise_e: float = 4.0
    sensitivity: tuple[float, float, float] = (0.6, 1.0, 0.7)
    pixel_gain_rms: float = 0.004
    pixel_offset_rms_e: float = 1.5
    bits: int = 14
    serial: int = 1


@dataclass(frozen=True)
class Shot:
    """How one photograph is taken and developed.

    Attributes
    ----------
    pixels_per_mm : float
        Sampling on the sheet at the middle of the frame.
    centre_mm : tuple of float or None
        Place (x, y) of the patch at the middle of the frame; None for the patch's own middle.
    rotation_deg : float
        Turn of the sheet in the frame, clockwise as seen. Nobody lays paper down square.
    tilt_x_deg, tilt_y_deg : float
        Tilt of the sheet about the frame's horizontal and vertical axis. Half a degree is what a
        careful set-up leaves.
    focus_error_mm : float
        Height of the sheet's middle above the plane of best focus.
    curl_mm : float
        Rise towards the lens, 15 mm from the middle, of a sheet curled about `curl_axis_deg`.
    curl_axis_deg : float
        Direction of the curl's axis on the sheet; 0 is along x, so that the height changes in y.
    light_slope : tuple of float
        Relative change of light across the frame's width and height.
    light_falloff : float
        Relative loss of light in the frame's corners.
    exposure : float
        Charge that white paper at its brightest gives a green pixel, over the full well. Above 1
        clips.
    motion_um : tuple of float
        Travel (x, y) of the image on the sheet during the exposure.
    sharpening, sharpening_px : float
        Amount and Gaussian radius of an unsharp mask on the coded picture; 0 is none, as asked of
        anyone who measures.
    jpeg_quality : int
        Quality where the picture is written as JPEG.
    seed : int
        Chance of this shot's noise.
    """

    pixels_per_mm: float = 80.0
    centre_mm: tuple[float, float] | None = None
    rotation_deg: float = 0.7
    tilt_x_deg: float = 0.3
    tilt_y_deg: float = -0.2
    focus_error_mm: float = 0.05
    curl_mm: float = 0.05
    curl_axis_deg: float = 0.0
    light_slope: tuple[float, float] = (0.06, -0.04)
    light_falloff: float = 0.05
    exposure: float = 0.75
    motion_um: tuple[float, float] = (0.0, 0.0)
    sharpening: float = 0.0
    sharpening_px: float = 1.0
    jpeg_quality: int = 95
    seed: int = 0


@dataclass(frozen=True)
class CameraPose:
    """Where the sheet lies in the frame: exact, and invertible by formula.

    Attributes
    ----------
    homography : (3, 3) array
        Takes a capture pixel (x, y, 1), centres at integers, to mm on the patch, for a sheet
        that lies flat. The curl's own shift, a few um, is in `to_mm` only.
    turn : (3, 3) array
        Rotation from the sheet's axes to the frame's (x right, y down, z towards the lens).
    centre_mm : tuple of float
        Place of the patch at the middle of the frame.
    """

    camera: Camera
    shot: Shot
    centre_mm: tuple[float, float]
    turn: FloatArray
    homography: FloatArray

    def to_flat_mm(self, x_px: FloatArray, y_px: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Patch mm of capture pixels, the sheet taken as flat."""
        h = self.homography
        w = h[2, 0] * x_px + h[2, 1] * y_px + h[2, 2]
        return (
            (h[0, 0] * x_px + h[0, 1] * y_px + h[0, 2]) / w,
            (h[1, 0] * x_px + h[1, 1] * y_px + h[1, 2]) / w,
        )

    def curl_height_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """Height of the curled sheet above its flat plane at a place of the patch."""
        angle = np.deg2rad(self.shot.curl_axis_deg)
        across = (y_mm - self.centre_mm[1]) * np.cos(angle)
        across = across - (x_mm - self.centre_mm[0]) * np.sin(angle)
        return self.shot.curl_mm * (across / _CURL_REACH_MM) ** 2

    def to_mm(self, x_px: FloatArray, y_px: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Patch mm of capture pixels on the sheet as it lies, curl included.

        The ray meets a sheet that is higher by w nearer to the frame's middle by w over the
        camera's distance.
        """
        x_mm, y_mm = self.to_flat_mm(x_px, y_px)
        nearer = self.curl_height_mm(x_mm, y_mm) / self.camera.distance_mm
        return (
            x_mm - (x_mm - self.centre_mm[0]) * nearer,
            y_mm - (y_mm - self.centre_mm[1]) * nearer,
        )

    def to_px(self, x_mm: FloatArray, y_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Capture pixels of places on the sheet as it lies: the inverse of `to_mm`."""
        flat_x, flat_y = x_mm, y_mm
        for _ in range(3):
            nearer = self.curl_height_mm(flat_x, flat_y) / self.camera.distance_mm
            flat_x = x_mm + (flat_x - self.centre_mm[0]) * nearer
            flat_y = y_mm + (flat_y - self.centre_mm[1]) * nearer
        h = np.linalg.inv(self.homography)
        w = h[2, 0] * flat_x + h[2, 1] * flat_y + h[2, 2]
        return (
            (h[0, 0] * flat_x + h[0, 1] * flat_y + h[0, 2]) / w,
            (h[1, 0] * flat_x + h[1, 1] * flat_y + h[1, 2]) / w,
        )

    def defocus_mm(self, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
        """Height above the plane of best focus at a place of the patch."""
        x, y = x_mm - self.centre_mm[0], y_mm - self.centre_mm[1]
        height = self.turn[2, 0] * x + self.turn[2, 1] * y
        return height + self.curl_height_mm(x_mm, y_mm) + self.shot.focus_error_mm

    def light(self, x_px: FloatArray, y_px: FloatArray) -> FloatArray:
        """Relative light at capture pixels, 1 at its brightest corner or middle."""
        u = (x_px - 0.5 * (self.camera.width_px - 1)) / (0.5 * self.camera.width_px)
        v = (y_px - 0.5 * (self.camera.height_px - 1)) / (0.5 * self.camera.height_px)
        slope_x, slope_y = self.shot.light_slope
        even = 1.0 + 0.5 * (slope_x * u + slope_y * v)
        return even * (1.0 - 0.5 * self.shot.light_falloff * (u * u + v * v))


_CURL_REACH_MM = 15.0


def camera_pose(camera: Camera, shot: Shot, centre_mm: tuple[float, float]) -> CameraPose:
    """Geometry of a shot whose middle is `centre_mm` on the patch, through a pinhole.

    Parameters
    ----------
    camera : Camera
    shot : Shot
        Its distance, tilt, turn and sampling.
    centre_mm : pair of float
        Place (x, y) on the patch that the middle of the frame looks at.
    """
    turn = _about(0, shot.tilt_x_deg) @ _about(1, shot.tilt_y_deg) @ _about(2, shot.rotation_deg)
    x, y = centre_mm
    scale = shot.pixels_per_mm
    from_centre = np.array([[1.0, 0.0, -x], [0.0, 1.0, -y], [0.0, 0.0, 1.0]])
    project = np.array(
        [
            [turn[0, 0], turn[0, 1], 0.0],
            [turn[1, 0], turn[1, 1], 0.0],
            [-turn[2, 0] / camera.distance_mm, -turn[2, 1] / camera.distance_mm, 1.0],
        ]
    )
    to_pixel = np.array(
        [
            [scale, 0.0, 0.5 * (camera.width_px - 1)],
            [0.0, scale, 0.5 * (camera.height_px - 1)],
            [0.0, 0.0, 1.0],
        ]
    )
    homography = np.linalg.inv(to_pixel @ project @ from_centre)
    return CameraPose(camera, shot, centre_mm, turn, homography / homography[2, 2])


def _about(axis: int, degrees: float) -> FloatArray:
    c, s = np.cos(np.deg2rad(degrees)), np.sin(np.deg2rad(degrees))
    a, b = ((1, 2), (2, 0), (0, 1))[axis]
    turn = np.eye(3)
    turn[a, a] = turn[b, b] = c
    turn[a, b], turn[b, a] = -s, s
    return turn
