"""Cameras that look at prints, and faults that photographs have. Nothing knows of a printer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path
from typing import Any, Literal

import cv2
import numpy as np
import tifffile
from numpy.typing import NDArray
from PIL import Image, ImageCms
from scipy import fft

from dotloupe import load_capture

from .printed import MARGIN_MM, Floats, Print, srgb_coded

FAULTS = (
    "defocus",
    "soft corner",
    "tilt",
    "curl",
    "motion",
    "sharpening",
    "compression",
    "clipping",
)
PITCH_MM = 0.004
WAVELENGTH_MM = 0.00055
AROUND_MM = 1.3
"""Seen of the paper beyond each side of the drawing."""
FIELD_LEVELS = 7


@dataclass(frozen=True)
class Camera:
    """A camera, its lens, its light, and how the print lies under it.

    Attributes
    ----------
    pixels_per_mm : float
        60 to 220, on the print.
    mosaic : bool
        One colour a pixel, interpolated; else three.
    f_number, lens_um : float
        Aperture engraved; standard deviation of the lens's own blur, on the print.
    lens_px : float or None
        In place of `lens_um`, the lens's own blur in pixels, the same at every distance; the pupil
        is then round and the pixel square, not Gaussians.
    wavelengths_mm : (float, float, float)
        Of the three channels, behind a round pupil.
    turn_deg, pitch_deg, yaw_deg : float
        How the print lies: turned in its plane, and out of it.
    shift_mm : (float, float)
    distance_mm : float
        From the lens, for the perspective.
    light : (float, float, float)
        Relative slope of the light along x and y, and fall from the middle to the corners.
    exposure : float
        Share of full scale that paper gets.
    full_well, read_noise : float
        Electrons.
    kind : {"srgb8", "linear16"}
        What is saved.
    """

    pixels_per_mm: float = 100.0
    mosaic: bool = False
    f_number: float = 5.6
    lens_um: float = 4.0
    lens_px: float | None = None
    wavelengths_mm: tuple[float, float, float] = (0.00061, 0.00054, 0.00046)
    turn_deg: float = 0.0
    pitch_deg: float = 0.0
    yaw_deg: float = 0.0
    shift_mm: tuple[float, float] = (0.0, 0.0)
    distance_mm: float = 160.0
    light: tuple[float, float, float] = (0.0, 0.0, 0.0)
    exposure: float = 0.8
    full_well: float = 20000.0
    read_noise: float = 6.0
    kind: Literal["srgb8", "linear16"] = "linear16"

    @property
    def still(self) -> Camera:
        """The same lens and pixels without noise, uneven light, turn or tilt."""
        return replace(
            self,
            turn_deg=0.0,
            pitch_deg=0.0,
            yaw_deg=0.0,
            shift_mm=(0.0, 0.0),
            light=(0.0, 0.0, 0.0),
            full_well=np.inf,
            read_noise=0.0,
            kind="linear16",
        )

    @property
    def lens_sigma_mm(self) -> float:
        """Blur of lens and diffraction: the Gaussian that a circular pupil's MTF50 asks for."""
        diffraction = 0.18739 / 0.40397 * WAVELENGTH_MM * self.f_number_at_the_print
        return float(np.hypot(diffraction, self.lens_um / 1000))

    @property
    def f_number_at_the_print(self) -> float:
        """Height over width of the cone of light: N (1 + m) / m."""
        magnification = self.pixels_per_mm * PITCH_MM
        return self.f_number * (1 + magnification) / magnification

    def round_pupil(self, frequency: Floats, channel: int) -> Floats:
        """Transfer of the pupil and of the lens's own blur in pixels, by cycles/mm on the print."""
        cutoff = 1 / (self.wavelengths_mm[channel] * self.f_number_at_the_print)
        v = np.minimum(frequency / cutoff, 1)
        pupil = 2 / np.pi * (np.arccos(v) - v * np.sqrt(1 - v * v))
        blur = (self.lens_px or 0.0) / self.pixels_per_mm
        return pupil * np.exp(-2 * (np.pi * blur * frequency) ** 2)

    def transfer(self, frequency: Floats, slant_deg: float = 5.0) -> Floats:
        """Of a camera whose blur is in pixels, in luminance, across an edge of that slant."""
        weights = (0.2126, 0.7152, 0.0722)
        turn = np.deg2rad([slant_deg, 90 - slant_deg])
        total = np.zeros_like(frequency)
        u = frequency / self.pixels_per_mm
        one, other = (np.cos(2 * np.pi * u * np.cos(t)) for t in turn)
        for channel, weight in enumerate(weights):
            filled = 0.5 + 0.25 * (one + other) if channel == 1 else 0.25 * (1 + one) * (1 + other)
            lens = weight * self.round_pupil(frequency, channel)
            total += lens * filled if self.mosaic else lens
        return total * np.sinc(u * np.cos(turn[0])) * np.sinc(u * np.cos(turn[1]))


@dataclass(frozen=True)
class Photograph:
    """Pixels as saved: uint8 in sRGB or uint16 in linear light, shape (rows, columns, 3)."""

    pixels: NDArray[np.unsignedinteger[Any]]
    camera: Camera

    @property
    def linear(self) -> Floats:
        """Linear light, paper at about `camera.exposure`."""
        if self.pixels.dtype == np.uint16:
            return self.pixels / 65535
        coded = np.arange(256) / 255
        table = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
        return table[self.pixels]

    def write(self, path: str | Path) -> Path:
        """Save as a TIFF with its profile."""
        profile = _srgb_profile()
        if self.pixels.dtype == np.uint16:
            profile = _with_straight_curves(profile)
        tifffile.imwrite(path, self.pixels, photometric="rgb", iccprofile=profile)
        return Path(path)

    def to_capture(self, folder: str | Path) -> Any:
        """What the package reads of the file."""
        return load_capture(self.write(Path(folder) / "photograph.tif"))


def draw_camera(seed: int, *, pixels_per_mm: tuple[float, float] = (60.0, 220.0)) -> Camera:
    """A sound camera and a sound set-up; more of the coarse samplings than of the fine ones."""
    rng = np.random.default_rng([seed, 31])
    low, high = np.log(pixels_per_mm)
    return Camera(
        pixels_per_mm=float(np.exp(rng.uniform(low, high))),
        mosaic=bool(rng.random() < 0.5),
        f_number=float(rng.choice([4.0, 4.5, 5.6])),
        lens_um=float(rng.uniform(2.0, 5.0)),
        turn_deg=float(rng.uniform(-2.5, 2.5)),
        pitch_deg=float(rng.uniform(-0.4, 0.4)),
        yaw_deg=float(rng.uniform(-0.4, 0.4)),
        shift_mm=(float(rng.uniform(-0.3, 0.3)), float(rng.uniform(-0.3, 0.3))),
        distance_mm=float(rng.uniform(120, 250)),
        light=(float(rng.uniform(-0.06, 0.06)), float(rng.uniform(-0.06, 0.06)), 0.04),
        exposure=float(rng.uniform(0.6, 0.85)),
        full_well=float(rng.uniform(15000, 50000)),
        read_noise=float(rng.uniform(2, 8)),
        kind="srgb8" if rng.random() < 0.5 else "linear16",
    )


def photograph(
    print_: Print, camera: Camera, *, fault: str | None = None, strength: float = 0.0, seed: int = 0
) -> Photograph:
    """Photograph a print.

    Parameters
    ----------
    print_ : Print
    camera : Camera
    fault : str, optional
        One of `FAULTS`.
    strength : float
        Its size. Diameter in um, on the print, of the disc of confusion: everywhere (defocus), in
        one corner (soft corner), at the far side (tilt), at both sides (curl). Length in um of
        the path (motion); amount of an unsharp mask of one pixel (sharpening); 100 less the
        quality of a JPEG (compression); stops beyond the camera's exposure (clipping).
    seed : int
        Of the noise and of where a fault sits.
    """
    if fault is not None and fault not in FAULTS:
        raise ValueError(f"no fault is called {fault!r}")
    rng = np.random.default_rng([seed, 8])
    light = np.stack(
        [_through_lens(print_.reflectance(i), print_, camera, i) for i in range(3)], -1
    )
    if fault in BLURS:
        light = BLURS[fault](light, strength / 1000 * camera.pixels_per_mm, rng)
    light *= _light(light.shape[:2], camera)[..., None]
    gain = camera.exposure / float(np.mean(print_.paper))
    signal = gain * light * (2.0**strength if fault == "clipping" else 1.0)
    if camera.mosaic:
        signal = _interpolated(_noisy(_one_colour(signal), camera, rng))
    else:
        signal = _noisy(signal, camera, rng)
    signal = np.clip(signal, 0, 1)
    if fault == "sharpening":
        coded = srgb_coded(signal)
        coded += strength * (coded - cv2.GaussianBlur(coded, (0, 0), 1.0))
        signal = _decoded(np.clip(coded, 0, 1))
    if fault == "compression":
        signal = _decoded(_through_jpeg(srgb_coded(signal), 100 - strength))
    if camera.kind == "linear16":
        return Photograph(np.rint(65535 * signal).astype(np.uint16), camera)
    return Photograph(np.rint(255 * srgb_coded(signal)).astype(np.uint8), camera)


def _through_round_pupil(seen: Floats, sampling: float, camera: Camera, channel: int) -> Floats:
    """Round pupil, blur and square pixel in the frequency domain; the frame is mirrored over."""
    rows, columns = (fft.next_fast_len(n + 64, real=True) for n in seen.shape)
    beyond = ((0, rows - seen.shape[0]), (0, columns - seen.shape[1]))
    across = np.fft.rfftfreq(columns, 1 / sampling).astype(np.float32)[None]
    down = np.fft.fftfreq(rows, 1 / sampling).astype(np.float32)[:, None]
    spectrum = fft.rfft2(np.pad(seen, beyond, mode="reflect"))
    spectrum *= np.sinc(across / camera.pixels_per_mm) * np.sinc(down / camera.pixels_per_mm)
    spectrum *= camera.round_pupil(np.hypot(across, down), channel).astype(np.float32)
    return fft.irfft2(spectrum, s=(rows, columns))[: seen.shape[0], : seen.shape[1]]


def _through_lens(reflectance: Floats, print_: Print, camera: Camera, channel: int = 1) -> Floats:
    """One channel on the camera's pixels: in perspective, blurred, averaged over pixels."""
    finer = max(1, round(180 / camera.pixels_per_mm))
    sampling = camera.pixels_per_mm * finer
    frame_mm = np.array(print_.size_mm) + 2 * AROUND_MM
    columns, rows = (int(n * camera.pixels_per_mm) * finer for n in frame_mm)
    to_mm = np.diag([1 / print_.pixels_per_mm, 1 / print_.pixels_per_mm, 1.0])
    to_mm[:2, 2] = 0.5 / print_.pixels_per_mm - MARGIN_MM - np.array(print_.size_mm) / 2
    to_pixels = np.array(
        [[sampling, 0, (columns - 1) / 2], [0, sampling, (rows - 1) / 2], [0, 0, 1.0]]
    )
    seen = cv2.warpPerspective(
        reflectance,
        to_pixels @ _pose(camera) @ to_mm,
        (columns, rows),
        flags=cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    if camera.lens_px is not None:
        return _through_round_pupil(seen, sampling, camera, channel)[::finer, ::finer]
    # a pixel that is one sample wide blurs by its own width: a twelfth of its square
    box = 0 if finer > 1 else 1 / 12
    sigma = np.sqrt((camera.lens_sigma_mm * sampling) ** 2 + box)
    blurred = cv2.GaussianBlur(seen, (0, 0), float(sigma))
    if finer == 1:
        return blurred
    return cv2.resize(blurred, (columns // finer, rows // finer), interpolation=cv2.INTER_AREA)


def _pose(camera: Camera) -> Floats:
    """Homography of the print's plane in mm: turned, tilted, seen from a distance."""
    turn, pitch, yaw = np.deg2rad([camera.turn_deg, camera.pitch_deg, camera.yaw_deg])
    c, s = np.cos(turn), np.sin(turn)
    about_z = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    c, s = np.cos(pitch), np.sin(pitch)
    about_x = np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    c, s = np.cos(yaw), np.sin(yaw)
    about_y = np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])
    lying = about_y @ about_x @ about_z
    plane = np.column_stack([lying[:, 0], lying[:, 1], [*camera.shift_mm, camera.distance_mm]])
    plane[2] /= camera.distance_mm
    return plane


def _light(shape: tuple[int, int], camera: Camera) -> Floats:
    y = np.linspace(-1, 1, shape[0])[:, None]
    x = np.linspace(-1, 1, shape[1])[None]
    along, down, fall = camera.light
    return (1 + along * x + down * y - fall / 2 * (x**2 + y**2)).astype(np.float32)


def _noisy(signal: Floats, camera: Camera, rng: np.random.Generator) -> Floats:
    """Shot noise (Gaussian, of the variance that counting has), read noise, and clipping."""
    if not np.isfinite(camera.full_well):
        return signal
    variance = np.maximum(signal, 0) / camera.full_well
    variance += (camera.read_noise / camera.full_well) ** 2
    noise = rng.standard_normal(signal.shape, np.float32) * np.sqrt(variance)
    return np.clip(signal + noise, 0, 1)


def _one_colour(signal: Floats) -> Floats:
    """Red, green / green, blue."""
    mosaic = signal[..., 1].copy()
    mosaic[::2, ::2] = signal[::2, ::2, 0]
    mosaic[1::2, 1::2] = signal[1::2, 1::2, 2]
    return mosaic


def _interpolated(mosaic: Floats) -> Floats:
    """Bilinear: each missing colour is the mean of its nearest neighbours."""
    sites = np.zeros((3, *mosaic.shape), np.float32)
    sites[0, ::2, ::2] = sites[2, 1::2, 1::2] = 1
    sites[1] = 1 - sites[0] - sites[2]
    around = np.array([[1, 2, 1], [2, 4, 2], [1, 2, 1]], np.float32) / 4
    cross = np.array([[0, 1, 0], [1, 4, 1], [0, 1, 0]], np.float32) / 4
    kernels = (around, cross, around)
    plane = mosaic.astype(np.float32)
    return np.stack(
        [
            cv2.filter2D(plane * site, -1, kernel, borderType=cv2.BORDER_REFLECT_101)
            for site, kernel in zip(sites, kernels, strict=True)
        ],
        axis=-1,
    )


def disc(diameter_px: float) -> Floats:
    """An even disc, its border shared among the pixels that it crosses; sums to 1."""
    reach = int(np.ceil(diameter_px / 2 + 0.5))
    fine = (np.arange((2 * reach + 1) * 8) + 0.5) / 8 - reach - 0.5
    inside = (fine[:, None] ** 2 + fine[None] ** 2 <= max(diameter_px / 2, 0.07) ** 2).astype(float)
    kernel = inside.reshape(2 * reach + 1, 8, 2 * reach + 1, 8).mean(axis=(1, 3))
    return (kernel / kernel.sum()).astype(np.float32)


def _blurred(light: Floats, kernel: Floats) -> Floats:
    return cv2.filter2D(light, -1, kernel, borderType=cv2.BORDER_REPLICATE)


def _by_field(light: Floats, share: Floats, diameter_px: float) -> Floats:
    """Blur by a disc whose diameter is `share` (0 to 1) of the largest, place by place."""
    position = np.clip(share, 0, 1) * (FIELD_LEVELS - 1)
    out = np.zeros_like(light)
    for level in range(FIELD_LEVELS):
        weight = np.maximum(1 - np.abs(position - level), 0).astype(np.float32)
        if weight.any():
            width = diameter_px * level / (FIELD_LEVELS - 1)
            out += weight[..., None] * (_blurred(light, disc(width)) if level else light)
    return out


def _field(light: Floats) -> tuple[Floats, Floats]:
    """Places from -1 to 1 along x and y."""
    return np.linspace(-1, 1, light.shape[1])[None], np.linspace(-1, 1, light.shape[0])[:, None]


def _defocus(light: Floats, size_px: float, _: np.random.Generator) -> Floats:
    return _blurred(light, disc(size_px))


def _soft_corner(light: Floats, size_px: float, rng: np.random.Generator) -> Floats:
    x, y = _field(light)
    side, end = rng.choice([-1, 1], 2)
    away = np.hypot((1 - side * x) / 1.1, (1 - end * y) / 1.1)
    return _by_field(light, np.clip(1 - away, 0, 1) * 1.12, size_px)


def _tilt(light: Floats, size_px: float, rng: np.random.Generator) -> Floats:
    x, y = _field(light)
    angle = rng.uniform(0, 2 * np.pi)
    along = (np.cos(angle) * x + np.sin(angle) * y) / (abs(np.cos(angle)) + abs(np.sin(angle)))
    return _by_field(light, np.abs(along + 0.6) / 1.6, size_px)


def _curl(light: Floats, size_px: float, rng: np.random.Generator) -> Floats:
    x, y = _field(light)
    return _by_field(light, (x if rng.random() < 0.7 else y) ** 2 + 0 * x * y, size_px)


def _motion(light: Floats, size_px: float, rng: np.random.Generator) -> Floats:
    angle = rng.uniform(0, np.pi)
    reach = int(np.ceil(size_px / 2)) + 1
    kernel = np.zeros((2 * reach + 1, 2 * reach + 1), np.float32)
    for step in np.linspace(-size_px / 2, size_px / 2, 200):
        x, y = reach + step * np.cos(angle), reach + step * np.sin(angle)
        left, top = int(x), int(y)
        part = np.outer([top + 1 - y, y - top], [left + 1 - x, x - left])
        kernel[top : top + 2, left : left + 2] += part
    return _blurred(light, kernel / kernel.sum())


BLURS = {
    "defocus": _defocus,
    "soft corner": _soft_corner,
    "tilt": _tilt,
    "curl": _curl,
    "motion": _motion,
}


def _decoded(coded: Floats) -> Floats:
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def _through_jpeg(coded: Floats, quality: float) -> Floats:
    memory = BytesIO()
    picture = Image.fromarray(np.rint(255 * coded).astype(np.uint8))
    picture.save(memory, "JPEG", quality=round(quality), subsampling=2)
    return np.asarray(Image.open(memory)) / 255


def _srgb_profile() -> bytes:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def _with_straight_curves(profile: bytes) -> bytes:
    """Replace the tone curves of an RGB profile by straight ones (a `curv` of no entries)."""
    data = bytearray(profile)
    for entry in range(int.from_bytes(data[128:132], "big")):
        at = 132 + 12 * entry
        if bytes(data[at : at + 4]) in (b"rTRC", b"gTRC", b"bTRC"):
            offset = int.from_bytes(data[at + 4 : at + 8], "big")
            data[offset : offset + 12] = b"curv" + bytes(8)
            data[at + 8 : at + 12] = (12).to_bytes(4, "big")
    return bytes(data)
