"""Even light by a blank sheet."""

import tracemalloc

import numpy as np
import pytest

from dotloupe.capture.capture import Capture
from dotloupe.capture.flat_field import flat_field, with_flat_field
from dotloupe.capture.paper_level import paper_level
from dotloupe.capture.tone import tone_curve
from dotloupe.errors import InputError

SHAPE = (400, 600)


def capture_of(light, path="shot.tif", levels=65536):
    curve = (
        np.linspace(0, 1, levels, dtype=np.float32) if levels > 256 else tone_curve(None, 256)[0]
    )
    kind = np.uint16 if levels > 256 else np.uint8
    pixels = np.searchsorted(curve, np.clip(light, 0, 1)).clip(0, levels - 1).astype(kind)
    return Capture(path, "", pixels, curve, paper_level(light))


def lamp(exposure=0.8):
    """A slope, a fall-off of 40 % into the corners and a cast, darker at the left."""
    y, x = np.mgrid[-1 : 1 : SHAPE[0] * 1j, -1 : 1 : SHAPE[1] * 1j]
    even = (1 + 0.15 * x - 0.05 * y) * (1 - 0.2 * (x * x + y * y))
    return exposure * (even / even.max())[..., None] * np.array([0.9, 1.0, 0.8])


def tints():
    steps = np.ones((*SHAPE, 1))
    for i, tint in enumerate((0.8, 0.5, 0.2, 0.05)):
        steps[50:350, 50 + 135 * i : 150 + 135 * i] = tint
    return steps


@pytest.mark.parametrize("exposure", [0.8, 0.4])
def test_light_of_any_shape_is_divided_out(exposure):
    rng = np.random.default_rng(0)
    blank = lamp(exposure) * rng.normal(1, 0.01, (*SHAPE, 3))
    flat = with_flat_field(capture_of(lamp() * tints()), flat_field(capture_of(blank)))
    relative = flat.reflectance / tints()
    # Noise of 1 % in the blank averages over the 22 pixels of a block and its neighbours to 0.1 %.
    assert np.abs(relative / np.median(relative) - 1).max() < 0.006
    assert np.median(relative) == pytest.approx(1, abs=0.004)


def test_a_veil_is_taken_out_with_a_dark_frame():
    y = np.linspace(0, 1, SHAPE[0])[:, None, None]
    veil = 0.02 + 0.01 * y * np.ones((*SHAPE, 3))
    shot, blank, dark = (
        capture_of(part + veil) for part in (lamp() * tints(), lamp(), np.zeros((*SHAPE, 3)))
    )
    wrong = with_flat_field(shot, flat_field(blank)).reflectance[200, 505, 1]
    right = with_flat_field(shot, flat_field(blank, dark)).reflectance[200, 505, 1]
    assert right == pytest.approx(0.05, rel=0.01)
    assert wrong > 0.06


def test_eight_bits_and_full_pixels():
    light = lamp(1.0) * tints()
    light[150:170, 75:80] = 1.0
    shot = capture_of(light, levels=256)
    flat = with_flat_field(shot, flat_field(capture_of(lamp(0.9), levels=256)))
    assert flat.pixels.dtype == np.uint16
    assert np.all(flat.pixels[150:170, 75:80, :] == 65535)
    assert np.mean(flat.reflectance[150:250, 230:250]) == pytest.approx(0.5, rel=0.01)


def test_no_float_copy_of_the_frame():
    shot, blank = capture_of(lamp() * tints()), capture_of(lamp())
    tracemalloc.start()
    flat = with_flat_field(shot, flat_field(blank))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    # The result itself, and strips of 256 of the 400 rows in float32: below two frames of float.
    assert peak < flat.pixels.nbytes + 2 * 1.2 * SHAPE[1] * 256 * 3 * 4 * 2


@pytest.mark.parametrize(
    ("blank", "words"),
    [
        (np.full((*SHAPE, 3), 0.001), "too dark"),
        (np.ones((*SHAPE, 3)), "overexposed"),
        (lamp() * tints(), "not blank"),
    ],
)
def test_blanks_that_are_none(blank, words):
    with pytest.raises(InputError, match=words) as caught:
        flat_field(capture_of(blank, path="blank.tif"))
    assert str(caught.value).startswith("blank.tif: ")


def test_frames_of_unlike_size_are_refused_by_name():
    small = capture_of(np.full((90, 120, 3), 0.5), path="small.tif")
    field = flat_field(capture_of(lamp(), path="blank.tif"))
    words = "^small.tif: 120 x 90 pixels.*blank.tif with 600 x 400"
    with pytest.raises(InputError, match=words):
        with_flat_field(small, field)
    with pytest.raises(InputError, match=words):
        flat_field(capture_of(lamp(), path="blank.tif"), small)
