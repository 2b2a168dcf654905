"""The sensor: colour mosaic, charge, noise, converter, and the simple development after it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from dotloupe.patch import srgb_encode

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray
    from dotloupe.simulate.camera import Camera, Shot

MOSAIC = ((0, 1), (1, 2))
"""Band (0 red, 1 green, 2 blue) of each pixel of the mosaic's two by two cell."""

_BLACK_LEVEL = 0.02


def mosaic_sites(band: int) -> list[tuple[slice, slice]]:
    """Slices of a frame that hold the pixels of one band."""
    return [
        (slice(row, None, 2), slice(col, None, 2))
        for row in range(2)
        for col in range(2)
        if MOSAIC[row][col] == band
    ]


def expose(mosaic: FloatArray, camera: Camera, shot: Shot) -> FloatArray:
    """Digitised mosaic over its full scale, its black level in, from relative light per pixel.

    `mosaic` is 1 where white paper is lit fully; each pixel already holds its own band.

    Parameters
    ----------
    mosaic : ndarray of shape (rows, columns)
        Relative light of each pixel in its own band.
    camera : Camera
    shot : Shot
        Its exposure and seed.
    """
    rng = np.random.default_rng([shot.seed, 40])
    fixed = np.random.default_rng([camera.serial, 41])
    charge = np.maximum(mosaic, 0.0) * np.float32(camera.full_well_e * shot.exposure)
    for band, share in enumerate(camera.sensitivity):
        for sites in mosaic_sites(band):
            charge[sites] *= np.float32(share)
    gain = fixed.standard_normal(charge.shape, dtype=np.float32)
    charge *= 1.0 + np.float32(camera.pixel_gain_rms) * gain
    charge += np.sqrt(charge) * rng.standard_normal(charge.shape, dtype=np.float32)
    np.minimum(charge, np.float32(camera.full_well_e), out=charge)
    offset = fixed.standard_normal(charge.shape, dtype=np.float32)
    charge += np.float32(camera.pixel_offset_rms_e) * offset
    charge += np.float32(camera.read_noise_e) * rng.standard_normal(charge.shape, dtype=np.float32)
    levels = 2**camera.bits - 1
    scale = np.float32((1.0 - _BLACK_LEVEL) / camera.full_well_e)
    return np.clip(np.round((charge * scale + _BLACK_LEVEL) * levels), 0, levels) / np.float32(
        levels
    )


def develop(raw: FloatArray, camera: Camera) -> FloatArray:
    """Linear (h, w, 3), white balanced on paper and over green's full scale, demosaiced.

    The demosaic is bilinear, which is linear and so has a known transfer.
    """
    import cv2

    steps = 65535.0
    room = 0.9 * min(camera.sensitivity)
    scaled = np.empty_like(raw)
    for band, share in enumerate(camera.sensitivity):
        for sites in mosaic_sites(band):
            light = (raw[sites] - _BLACK_LEVEL) / np.float32((1.0 - _BLACK_LEVEL) * share)
            scaled[sites] = (light + _BLACK_LEVEL) * room
    counts = np.clip(np.round(scaled * steps), 0, steps).astype(np.uint16)
    rgb = cv2.demosaicing(counts, cv2.COLOR_BayerRGGB2RGB)
    linear = rgb.astype(np.float32) / np.float32(room * steps) - np.float32(_BLACK_LEVEL)
    return np.minimum(linear, np.float32(1.0))


def encode(linear: FloatArray, shot: Shot, bits: int) -> NDArray[np.unsignedinteger]:
    """SRGB-coded picture of 8 or 16 bits, sharpened where the shot asks for it.

    Parameters
    ----------
    linear : ndarray of shape (rows, columns, 3)
    shot : Shot
        Its sharpening.
    bits : {8, 16}
    """
    coded = srgb_encode(np.clip(linear, 0.0, 1.0))
    if shot.sharpening:
        import cv2

        soft = cv2.GaussianBlur(coded, (0, 0), shot.sharpening_px)
        coded = np.clip(coded + np.float32(shot.sharpening) * (coded - soft), 0.0, 1.0)
    top = 2**bits - 1
    return np.round(coded * top).astype(np.uint8 if bits == 8 else np.uint16)
