"""The picture that was sent: its light, its size on the print, and what cannot be one."""

import numpy as np
import pytest
import tifffile
from PIL import Image

from dotloupe.capture.own_picture_file import SentPicture, load_picture, picture_of
from dotloupe.errors import InputError

PIXELS = np.random.default_rng(0).integers(0, 255, (100, 120, 3), dtype=np.uint8)
INCH, CENTIMETRE = 2, 3
HALF_CODE = 0.214041
"""Light of the sRGB code 0.5: ((0.5 + 0.055) / 1.055)^2.4 (IEC 61966-2-1, from memory)."""

AT_LEAST = "the picture must be an array (h, w) or (h, w, 3) of at least 32 x 32, not "


def write_tiff(path, resolution, unit=INCH):
    told = {"resolution": resolution, "resolutionunit": unit, "metadata": None, "software": False}
    tifffile.imwrite(path, PIXELS, photometric="rgb", **told)
    return path


@pytest.mark.parametrize(
    ("name", "dpi", "ppi"), [("a.png", 300, 300), ("b.jpg", 360, 360), ("c.jpg", 100, 100)]
)
def test_a_file_may_state_its_resolution(tmp_path, name, dpi, ppi):
    Image.fromarray(PIXELS).save(tmp_path / name, dpi=(dpi, dpi))
    sent = load_picture(tmp_path / name)
    # PNG states whole pixels a metre: half of one is 0.013 ppi
    assert sent.ppi == pytest.approx(ppi, abs=0.013)
    assert sent.ppi_source == f"{ppi} ppi, as its file states"


@pytest.mark.parametrize(
    ("resolution", "unit", "ppi"),
    [
        ((240, 240), INCH, 240.0),
        # TIFF 6.0: 120 pixels a centimetre are 304.8 an inch
        ((120, 120), CENTIMETRE, 304.8),
        ((72, 72), INCH, None),
        # 30 a centimetre, 76.2 an inch, are a screen's
        ((30, 30), CENTIMETRE, None),
    ],
)
def test_a_tiff_states_pixels_an_inch_or_a_centimetre(tmp_path, resolution, unit, ppi):
    sent = load_picture(write_tiff(tmp_path / "a.tif", resolution, unit))
    assert sent.ppi == (None if ppi is None else pytest.approx(ppi))
    assert sent.ppi_source == ("" if ppi is None else f"{ppi:g} ppi, as its file states")


@pytest.mark.parametrize("name", ["a.tif", "a.png", "a.jpg"])
def test_a_silent_file_leaves_the_size_open(tmp_path, name):
    Image.fromarray(PIXELS).save(tmp_path / name)
    sent = load_picture(tmp_path / name)
    assert (sent.ppi, sent.ppi_source) == (None, "")
    assert sent.shape == (100, 120)


def test_a_resolution_over_nothing_is_none(tmp_path):
    path = write_tiff(tmp_path / "a.tif", (300, 300))
    with tifffile.TiffFile(path, mode="r+") as file:
        file.pages.first.tags["XResolution"].overwrite((300, 0))
    assert load_picture(path).ppi is None


def test_a_width_given_counts_before_what_the_file_states(tmp_path):
    Image.fromarray(PIXELS).save(tmp_path / "a.png", dpi=(300, 300))
    sent = load_picture(tmp_path / "a.png", 50.8)
    # 120 pixels on two inches
    assert sent.ppi == pytest.approx(60)
    assert sent.ppi_source == "50.8 mm wide, as given"
    assert np.array_equal(sent.pixels, PIXELS)
    assert len(sent.sha256) == 64


@pytest.mark.parametrize("width", [0.0, -3.0, np.inf, np.nan])
def test_an_impossible_width_is_refused(tmp_path, width):
    Image.fromarray(PIXELS).save(tmp_path / "a.png")
    with pytest.raises(InputError) as caught:
        load_picture(tmp_path / "a.png", width)
    assert str(caught.value) == f"print width {width} mm: give one above 0"


@pytest.mark.parametrize(
    "half",
    [
        np.full((40, 50), 0.5),
        np.full((40, 50, 3), 0.5, np.float32),
        np.full((40, 50), 32768, np.uint16),
        np.full((40, 50, 4), 32768, np.uint16),
        np.full((40, 50, 1), 32768, np.uint16),
    ],
)
def test_arrays_are_srgb_coded_whatever_their_shape(half):
    sent = picture_of(half)
    assert sent.pixels.shape == (40, 50, 3)
    # half a step of 65535, times the slope of the curve there, 0.9
    assert sent.light() == pytest.approx(np.full((40, 50), HALF_CODE), abs=2e-5)
    assert (sent.ppi, sent.path, sent.sha256) == (None, "", "")


def test_eight_bits_and_single_channels():
    coded = np.zeros((40, 50, 3), np.uint8)
    coded[..., 0], coded[..., 1] = 255, 188
    sent = picture_of(coded)
    assert len(sent.linear) == 256
    # code 188 of 255 is 0.50289 of the light (IEC 61966-2-1)
    assert sent.light(np.array([0.0, 1.0, 0.0])) == pytest.approx(0.50289, abs=1e-5)
    # luminance: 0.2126 of the red, 0.7152 of the green
    assert sent.light() == pytest.approx(0.2126 + 0.7152 * 0.50289, abs=1e-5)


def test_floats_beyond_their_range_are_white_and_black():
    wild = np.full((40, 50), -0.5)
    wild[:20] = 1.5
    light = picture_of(wild).light()
    assert light[:20] == pytest.approx(1.0)
    assert light[20:] == pytest.approx(0.0)


def test_a_picture_or_its_path_is_taken_as_it_is(tmp_path):
    Image.fromarray(PIXELS).save(tmp_path / "a.png")
    loaded = picture_of(str(tmp_path / "a.png"))
    assert np.array_equal(loaded.pixels, PIXELS)
    assert isinstance(loaded, SentPicture)
    assert picture_of(loaded) is loaded


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (
            np.zeros((31, 64)),
            f"{AT_LEAST}(31, 64)",
        ),
        (
            np.zeros((64, 64, 3, 2)),
            f"{AT_LEAST}(64, 64, 3, 2)",
        ),
        (np.full((64, 64), np.nan), "the picture holds values that are not finite; fill them"),
        (
            np.zeros((64, 64), np.int32),
            "the picture is of int32; give uint8, uint16, or float 0 to 1",
        ),
    ],
)
def test_what_is_no_picture_is_named(wrong, says):
    with pytest.raises(InputError) as caught:
        picture_of(wrong)
    assert str(caught.value) == says
