"""What a camera's contrast curve does to visible grain, as its caution says."""

import numpy as np
from PIL import Image

from dotloupe.capture.file_cautions import CameraToneCurve
from dotloupe.capture.loading import load_capture

PAPER = 0.8
"""Exposure of the paper, of full scale."""
STEEPENED = 0.7
"""Share of the cubic 3 c^2 - 2 c^3 in the curve: its middle is 35 % steeper (an S of a usual
picture style; common practice, no source)."""


def light(coded):
    """IEC 61966-2-1."""
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def coded(light):
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


def lightness(reflectance):
    """CIE 1976."""
    return 116 * np.cbrt(reflectance) - 16


def through_camera(reflectance):
    """What is read as reflectance by the sRGB curve alone."""

    def seen(value):
        code = coded(np.asarray(value) * PAPER)
        return light((1 - STEEPENED) * code + STEEPENED * (3 * code**2 - 2 * code**3))

    return seen(reflectance) / seen(1.0)


def test_the_figures_of_the_caution():
    tints = np.array([0.8, 0.6, 0.4, 0.25, 0.1])  # the greys of the patch
    step = 1e-4
    swing = [
        lightness(f(tints * (1 + step))) - lightness(f(tints * (1 - step)))
        for f in (through_camera, np.asarray)
    ]
    lifted = 100 * (swing[0] / swing[1] - 1)
    assert abs(lifted.mean() - 14) < 1.5
    assert abs(lifted.max() - 30) < 1.5
    assert tints[np.argmax(lifted)] == 0.25


def test_a_cameras_own_jpeg_is_cautioned(tmp_path):
    pixels = np.random.default_rng(0).integers(0, 255, (240, 320, 3), dtype=np.uint8)
    exif = Image.Exif()
    exif[0x0110] = "A 1"
    for name, said in (("camera.jpg", True), ("camera.png", False)):
        Image.fromarray(pixels).save(tmp_path / name, exif=exif)
        found = load_capture(tmp_path / name).warnings
        assert any(isinstance(w, CameraToneCurve) for w in found) == said
    Image.fromarray(pixels).save(tmp_path / "plain.jpg")
    plain = load_capture(tmp_path / "plain.jpg").warnings
    assert not any(isinstance(w, CameraToneCurve) for w in plain)
