"""Pictures to the eye: closed forms, reference library, a capture brought onto a grid."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter
from skimage.color import deltaE_cie76, xyz2lab

from dotloupe.capture.capture import Capture
from dotloupe.compare.patch_picture import patch_picture
from dotloupe.compare.seen_picture import (
    XYZ_OF_LINEAR_SRGB,
    picture_difference,
    pictures_seen,
)
from dotloupe.errors import InputError
from dotloupe.measure.seeing import cycles_per_degree, lightness, scielab_transfer

PER_MM = 20.0


def even(rgb, shape=(80, 100)):
    return np.broadcast_to(np.asarray(rgb, dtype=float), (*shape, 3)).copy()


def test_even_colours_differ_as_the_reference_library_says():
    first, second = (0.5, 0.4, 0.3), (0.45, 0.42, 0.33)
    white = XYZ_OF_LINEAR_SRGB @ np.ones(3)
    d65 = np.array([0.95047, 1.0, 1.08883])
    lab = [
        xyz2lab(XYZ_OF_LINEAR_SRGB @ rgb / white * d65) for rgb in map(np.array, (first, second))
    ]
    expected = deltaE_cie76(*lab)
    # the eye's filters pass an even colour whole, from any distance
    for distance in (250, 2000):
        found = picture_difference(even(first), even(second), PER_MM, distance)
        assert found == pytest.approx(expected, rel=1e-3)


def test_a_faint_grey_wave_is_damped_as_the_luminance_channel_says():
    # 40 pixels a period: 0.5 cycles/mm; the cosine series holds it exactly
    x = np.arange(400) + 0.5
    amplitude = 1e-4
    wave = 0.3 + amplitude * np.cos(2 * np.pi * x / 40)
    grey = np.repeat(np.repeat(wave[None, :, None], 40, axis=0), 3, axis=2)
    distance = 1000.0
    found = picture_difference(grey, even((0.3,) * 3, grey.shape[:2]), PER_MM, distance)
    gain = scielab_transfer(cycles_per_degree(0.5, distance), "luminance")
    slope = (lightness(0.3 + 1e-6) - lightness(0.3 - 1e-6)) / 2e-6
    assert found.max() == pytest.approx(amplitude * gain * slope, rel=0.02)


def test_equal_pictures_do_not_differ():
    rng = np.random.default_rng(1)
    picture = rng.uniform(0.1, 0.9, (60, 60, 3))
    seen = pictures_seen([picture], [picture], PER_MM)
    assert seen.distance_mm == 0
    assert seen.repeats_mm is None


def test_finer_grain_is_lost_nearer_and_repeats_are_told():
    rng = np.random.default_rng(2)

    def tint(blur):
        noise = gaussian_filter(rng.standard_normal((160, 160)), blur)
        noise *= 0.08 / noise.std()
        return np.repeat(np.clip(0.4 + noise, 0, 1)[..., None], 3, axis=2)

    flat = [even((0.4,) * 3, (160, 160))] * 2
    fine = pictures_seen([tint(0.7), tint(0.7)], flat, PER_MM)
    coarse = pictures_seen([tint(2.5), tint(2.5)], flat, PER_MM)
    assert 0 < fine.distance_mm < coarse.distance_mm
    assert fine.interval[0] <= fine.distance_mm <= fine.interval[1]
    # half of the repeats are the flat ones, which are alike
    assert fine.repeats_mm is not None
    assert np.all(np.diff(coarse.difference) < 0)


def test_refusals():
    with pytest.raises(InputError, match="cut them alike"):
        picture_difference(even((1, 1, 1)), even((1, 1, 1), (70, 100)), PER_MM, 300)
    with pytest.raises(InputError, match="give a print of each"):
        pictures_seen([], [even((1, 1, 1))], PER_MM)


class EvenLight:
    """Light that falls off along x as known."""

    @staticmethod
    def over(x, _y):
        return np.broadcast_to((1 - 2e-4 * x)[..., None], (*np.broadcast(x, _y).shape, 3))


def test_a_turned_capture_comes_back_on_its_millimetres():
    # a smooth field in patch mm, seen turned by 2 degrees at 50 pixels per mm under uneven light
    turn, per_mm = np.radians(2.0), 50.0
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]]) / per_mm
    homography = np.eye(3)
    homography[:2, :2], homography[:2, 2] = rotation, (1.0, 0.5)

    def field(x_mm, y_mm):
        return 0.5 + 0.2 * np.sin(1.3 * x_mm) + 0.2 * np.cos(0.9 * y_mm + 0.4 * x_mm)

    rows, columns = np.mgrid[0:500, 0:600]
    x_mm, y_mm = np.moveaxis(
        np.stack([columns, rows], axis=-1) @ rotation.T + homography[:2, 2], -1, 0
    )
    light = 1 - 2e-4 * columns
    pixels = np.round(field(x_mm, y_mm) * light * 65535 / 2).astype(np.uint16)
    capture = Capture(
        path="c.tif",
        sha256="c",
        pixels=np.repeat(pixels[..., None], 3, axis=2),
        linear=np.linspace(0, 1, 65536, dtype=np.float32),
        paper_level=np.full(3, 0.5, np.float32),
    )
    box = (2.0, 2.0, 7.0, 5.0)
    found = patch_picture(capture, homography, EvenLight(), box_mm=box, pixels_per_mm=PER_MM)
    assert found.shape == (60, 100, 3)
    at_y, at_x = np.mgrid[0:60, 0:100]
    expected = field(2.0 + (at_x + 0.5) / PER_MM, 2.0 + (at_y + 0.5) / PER_MM)
    # half a grid pixel of misplacement would show as 0.0065
    assert np.abs(found[..., 1] - expected).max() < 5e-4
