"""Files prepared: kept to the bit where nothing is asked, colours kept, and what is refused."""

import json

import imagecodecs
import numpy as np
import pytest
import tifffile
from PIL import Image

from dotloupe.errors import InputError
from dotloupe.measurement import CameraState
from dotloupe.patch import srgb_profile
from dotloupe.prepare import load_master, load_response, prepare
from dotloupe.units import MM_PER_INCH

PPI = 300
ADOBE_LIKE = imagecodecs.cms_profile(
    "rgb",
    whitepoint=(0.3127, 0.329, 1.0),
    primaries=(0.64, 0.33, 1, 0.21, 0.71, 1, 0.15, 0.06, 1),
    gamma=2.2,
)


@pytest.fixture
def written(tmp_path):
    """A picture of random pixels in a file, and its width printed at 300 ppi."""

    def write(depth=16, profile=ADOBE_LIKE, size=(200, 240), name="picture.tif"):
        top = 2**depth
        kind = np.uint16 if depth == 16 else np.uint8
        pixels = np.random.default_rng(5).integers(0, top, (*size, 3)).astype(kind)
        path = tmp_path / name
        tifffile.imwrite(path, pixels, photometric="rgb", iccprofile=profile)
        return path, pixels, size[1] / PPI * MM_PER_INCH

    return write


def response(half=4.5, **changed):
    """One photograph of a patch as `measure --json` has it."""
    f = np.arange(0, 5.8, 0.25)
    curve = {
        "frequency": f.tolist(),
        "response": np.exp2(-((f / half) ** 2)).tolist(),
        "error": [0.01] * f.size,
    }
    return {
        "sent_ppi": float(PPI),
        "camera": CameraState.TAKEN_OUT.value,
        "response": {"x": curve, "y": curve},
        **changed,
    }


@pytest.fixture
def result(tmp_path):
    def write(content):
        path = tmp_path / "result.json"
        path.write_text(json.dumps(content))
        return path

    return write


@pytest.mark.parametrize("depth", [8, 16])
def test_where_nothing_is_asked_pixels_and_profile_are_kept_to_the_bit(written, depth, tmp_path):
    path, pixels, width = written(depth)
    prepared = prepare(load_master(path, width), PPI)
    out = prepared.save(tmp_path / "out.tif")
    with tifffile.TiffFile(out) as file:
        page = file.pages.first
        assert np.array_equal(page.asarray(), pixels)
        assert page.asarray().dtype == pixels.dtype
        assert page.tags["InterColorProfile"].value == ADOBE_LIKE
        assert page.tags["XResolution"].value == (PPI, 1)
    assert prepared.resize == ""
    assert not prepared.profile_assumed


def test_resampling_keeps_depth_profile_and_the_mean_of_light(written):
    path, pixels, width = written()
    prepared = prepare(load_master(path, width), 450, resize="area")
    assert prepared.pixels.shape == (300, 360, 3)
    assert prepared.pixels.dtype == np.uint16
    assert prepared.profile == ADOBE_LIKE
    light = [((p / 65535.0) ** 2.2).mean(axis=(0, 1)) for p in (pixels, prepared.pixels)]
    assert light[1] == pytest.approx(light[0], rel=1e-3)


def test_black_and_white_lines_average_in_light(tmp_path):
    """Lines of 0 and 255 become half of the light: 188 in sRGB (IEC 61966-2-1), not 128."""
    pixels = np.zeros((128, 128, 3), np.uint8)
    pixels[:, ::2] = 255
    path = tmp_path / "lines.tif"
    tifffile.imwrite(path, pixels, photometric="rgb", iccprofile=srgb_profile())
    half = prepare(load_master(path, 128 / 600 * MM_PER_INCH), 300, resize="area")
    assert half.pixels.shape == (64, 64, 3)
    assert (half.pixels == 188).all()


def test_sharpening_raises_luminance_alone(result, tmp_path):
    x = np.arange(160) * np.ones((160, 1))
    wave = 1 + 0.2 * np.cos(2 * np.pi * x / 4)
    light = np.stack([0.5 * wave, 0.25 * wave, 0.1 * wave], axis=-1)
    path = tmp_path / "wave.tif"
    pixels = np.rint(65535 * light ** (1 / 2.2)).astype(np.uint16)
    tifffile.imwrite(path, pixels, photometric="rgb", iccprofile=ADOBE_LIKE)
    found = load_response(result([response()]), PPI)
    prepared = prepare(load_master(path, 160 / PPI * MM_PER_INCH), PPI, response=found)
    out = (prepared.pixels / 65535.0) ** 2.2
    ratio = out / light
    assert np.ptp(ratio, axis=2).max() < 2e-3
    gain = np.ptp(out[80, 40:120, 0]) / np.ptp(light[80, 40:120, 0])
    of_x = prepared.sharpening["x"]
    assert gain == pytest.approx(np.interp(PPI / 25.4 / 4, of_x.frequency, of_x.gain), rel=0.02)
    assert gain > 1.1
    assert prepared.clipped == 0


def test_a_picture_without_profile_is_taken_as_srgb(written):
    path, _, width = written(8, None)
    prepared = prepare(load_master(path, width), PPI)
    assert prepared.profile_assumed
    assert prepared.profile == srgb_profile()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ([response(camera="included")], "--camera"),
        ([response(sent_ppi=600.0)], "measured at 600 ppi"),
        ([response(response={})], "no photograph of a patch"),
        ([response(4.0), response(5.5)], "one printer and one setting"),
        ({"captures": {"fast": [response()], "fine": [response()]}}, "“fast”, “fine”"),
        ({"points": []}, "not what measure --json"),
        ([response(response={"x": {"frequency": [1]}})], "not what measure --json"),
    ],
)
def test_results_that_do_not_fit_are_refused(result, content, words):
    with pytest.raises(InputError, match=words) as refused:
        load_response(result(content), PPI)
    assert "result.json" in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_setting_of_a_ranking_is_chosen_by_name(result):
    path = result({"captures": {"fast": [response(4.0)], "fine": [response(5.0)]}})
    found = load_response(path, PPI, "fine").axes["x"]
    assert np.interp(5.0, found.frequency, found.response) == pytest.approx(0.5, rel=0.01)


@pytest.mark.parametrize(("kind", "words"), [("cmyk", "SEPARATED"), ("float", "float32")])
def test_pictures_of_other_kinds_are_refused(tmp_path, kind, words):
    path = tmp_path / f"{kind}.tif"
    if kind == "cmyk":
        Image.new("CMYK", (100, 100)).save(path)
    else:
        tifffile.imwrite(path, np.zeros((100, 100, 3), np.float32), photometric="rgb")
    with pytest.raises(InputError, match=words):
        load_master(path, 100)


def test_sixteen_bits_are_not_written_where_eight_are_held(written, tmp_path):
    path, _, width = written(16)
    prepared = prepare(load_master(path, width), PPI)
    with pytest.raises(InputError, match="16 bits"):
        prepared.save(tmp_path / "out.jpg")
    path, pixels, width = written(8, name="eight.tif")
    prepare(load_master(path, width), PPI).save(tmp_path / "out.png")
    with Image.open(tmp_path / "out.png") as file:
        assert np.array_equal(np.asarray(file), pixels)
        assert file.info["icc_profile"] == ADOBE_LIKE
        assert file.info["dpi"] == pytest.approx((PPI, PPI), abs=0.01)
