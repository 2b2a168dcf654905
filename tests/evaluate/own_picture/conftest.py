"""Photographs of prints of open pictures, simulated: a blur whose |H| is a closed form.

The pictures are those that scikit-image ships. A picture is made finer by its cosine transform,
blurred there, and sampled through a homography, so that nothing but the blur is done to it.
"""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy import fft, ndimage
from skimage import data

from dotloupe.capture.capture import Capture
from dotloupe.capture.own_picture_file import picture_of

FINER = 4
LINEAR = np.linspace(0, 1, 65536, dtype=np.float32)


@dataclass(frozen=True)
class Taken:
    """A simulated photograph, and where it truly lies in its picture."""

    capture: Capture
    homography: np.ndarray


@pytest.fixture(scope="session")
def picture():
    """An open picture by its name."""
    return lambda name: picture_of(getattr(data, name)())


@pytest.fixture(scope="session")
def photographed():
    """A photograph of a print of a picture, blurred along the picture's x and y; made once."""
    made, prints = {}, {}

    def printed(light, blur_px):
        content = (hash(light.tobytes()), blur_px)
        if content not in prints:
            prints[content] = ndimage.spline_filter(
                blurred(light, blur_px), order=5, output=np.float32
            )
        return content, prints[content]

    def take(sent, scale, turn_deg, *, blur_px=(0.6, 0.45), shape=(840, 1120), grain=0.004, seed=0):
        content, fine = printed(sent.light(), blur_px)
        how = (content, scale, turn_deg, shape, grain, seed)
        if how not in made:
            made[how] = photograph(fine, sent.shape, scale, turn_deg, shape, grain, seed)
        return made[how]

    def photograph(fine, size, scale, turn_deg, shape, grain, seed):
        homography = placed(size, scale, turn_deg, shape)
        y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
        at = np.stack([x, y, np.ones_like(x)], -1) @ homography.T
        at = at[..., :2] / at[..., 2:] * FINER
        light = ndimage.map_coordinates(
            fine, [at[..., 1], at[..., 0]], order=5, prefilter=False, mode="mirror"
        )
        white = np.random.default_rng(seed).standard_normal(shape)
        dots = ndimage.gaussian_filter(white, 0.25 * scale)
        light = light + grain * dots / dots.std()
        light *= 0.7 * (1 + 0.12 * (x / shape[1] - 0.5) - 0.08 * (y / shape[0] - 0.5))
        pixels = np.round(65535 * np.clip(light, 0, 1)).astype(np.uint16)
        pixels = np.broadcast_to(pixels[..., None], (*shape, 3))
        name = f"simulated{seed}.tif"
        return Taken(Capture(name, f"{seed:064}", pixels, LINEAR, np.full(3, 0.6)), homography)

    return take


def blurred(light, blur_px):
    """A picture at FINER times its sampling, under a Gaussian blur along x and y."""
    for axis, sigma in ((0, blur_px[1]), (1, blur_px[0])):
        length = light.shape[axis]
        frequency = np.arange(length) / (2 * (length - 1))
        kept = np.exp(-2 * (np.pi * sigma * frequency) ** 2)
        spectrum = fft.dct(light, type=1, axis=axis) * kept.reshape((-1, 1) if axis == 0 else -1)
        finer = (length - 1) * FINER + 1
        pad = [(0, 0), (0, 0)]
        pad[axis] = (0, finer - length)
        light = fft.idct(np.pad(spectrum, pad), type=1, axis=axis) * (finer - 1) / (length - 1)
    return light


def placed(size, scale, turn_deg, shape):
    """Homography, capture pixel to picture pixel, middle on middle and a little in perspective."""
    angle = np.deg2rad(turn_deg)
    c, s = np.cos(angle) / scale, np.sin(angle) / scale
    to_middle = np.array([[1, 0, -shape[1] / 2], [0, 1, -shape[0] / 2], [0, 0, 1]])
    turned = np.array([[c, -s, 0], [s, c, 0], [1e-6, -2e-6, 1]])
    return np.array([[1, 0, size[1] / 2], [0, 1, size[0] / 2], [0, 0, 1]]) @ turned @ to_middle
