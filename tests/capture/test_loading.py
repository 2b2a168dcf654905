"""A photograph from disk: linear reflectance relative to the paper, and folders of them."""

import hashlib

import imagecodecs
import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms
from PIL.PngImagePlugin import PngInfo

from dotloupe.capture.file_cautions import Simulated
from dotloupe.capture.loading import given_paths, load_capture, load_captures
from dotloupe.errors import InputError

PAPER = 0.8
D65 = (0.3127, 0.3290, 1.0)
SRGB_PRIMARIES = (0.64, 0.33, 1.0, 0.30, 0.60, 1.0, 0.15, 0.06, 1.0)


def srgb_code(light):
    """IEC 61966-2-1, from memory."""
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


def steps_on_paper():
    """Linear light, (200, 300, 3): paper with ten tints from 1 to 0.01 of it, and what they are."""
    light = np.full((200, 300, 3), PAPER)
    tints = np.geomspace(1, 0.01, 10)
    for i, tint in enumerate(tints):
        light[20:60, 30 * i : 30 * i + 20] = PAPER * tint
    return light, tints


@pytest.mark.parametrize("coding", ["sRGB", "linear", "gamma 1.8"])
def test_sixteen_bits_are_linear_to_half_a_percent(tmp_path, coding):
    light, tints = steps_on_paper()
    if coding == "sRGB":
        profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        coded = srgb_code(light)
    else:
        gamma = 1.0 if coding == "linear" else 1.8
        profile = bytes(
            imagecodecs.cms_profile("rgb", whitepoint=D65, primaries=SRGB_PRIMARIES, gamma=gamma)
        )
        coded = light ** (1 / gamma)
    path = tmp_path / "steps.tif"
    pixels = np.round(coded * 65535).astype(np.uint16)
    tifffile.imwrite(path, pixels, photometric="rgb", iccprofile=profile)
    capture = load_capture(path)
    read = [capture.reflectance[40, 30 * i + 10] for i in range(len(tints))]
    assert np.abs(np.array(read) / tints[:, None] - 1).max() < 0.005
    assert capture.warnings == ()


def test_eight_bits_are_linear_to_half_a_percent_over_dithered_areas(tmp_path):
    light, tints = steps_on_paper()
    rng = np.random.default_rng(1)
    noisy = srgb_code(light) * 255 + rng.uniform(-0.5, 0.5, light.shape)
    path = tmp_path / "steps.png"
    Image.fromarray(np.round(noisy).astype(np.uint8)).save(path)
    capture = load_capture(path)
    read = [
        capture.reflectance[20:60, 30 * i : 30 * i + 20].mean()
        for i, tint in enumerate(tints)
        if tint > 0.05  # one 8-bit step is over 1.5 % of the light below
    ]
    assert np.abs(np.array(read) / tints[: len(read)] - 1).max() < 0.005


def test_regions_and_luminance_agree_with_the_whole(tmp_path):
    light, _ = steps_on_paper()
    path = tmp_path / "steps.tif"
    tifffile.imwrite(path, np.round(light * [65535, 60000, 50000]).astype(np.uint16))
    capture = load_capture(path)
    part = slice(10, 50), slice(20, 90)
    assert np.array_equal(capture.region(*part), capture.reflectance[part])
    weights = np.array([0.2126, 0.7152, 0.0722])  # IEC 61966-2-1
    assert np.allclose(capture.luminance(*part), capture.reflectance[part] @ weights, rtol=1e-5)
    # A colour cast of the light goes out with the paper.
    assert np.allclose(capture.reflectance[100, 100], 1, atol=2e-4)


def test_hash_and_name(tmp_path):
    path = tmp_path / "steps.png"
    Image.fromarray(np.full((90, 90, 3), 200, np.uint8)).save(path)
    capture = load_capture(path)
    assert capture.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert capture.name == "steps.png"
    assert capture.path == str(path)
    assert capture.shape == (90, 90)


def test_a_folder_is_read_in_order_of_name(tmp_path):
    for name in ("b.png", "a.PNG", "c.jpg"):
        Image.fromarray(np.full((90, 90, 3), 200, np.uint8)).save(tmp_path / name)
    (tmp_path / "notes.txt").write_text("taken on a Tuesday")
    assert [c.name for c in load_captures(tmp_path)] == ["a.PNG", "b.png", "c.jpg"]
    chosen = [tmp_path / "c.jpg", tmp_path / "b.png"]
    assert [c.name for c in load_captures(chosen)] == ["c.jpg", "b.png"]


@pytest.mark.parametrize("fault", ["missing", "empty", "file"])
def test_folders_at_fault(tmp_path, fault):
    folder = tmp_path / "setting"
    if fault == "empty":
        folder.mkdir()
    elif fault == "file":
        folder.write_text("a file")
    with pytest.raises(InputError) as caught:
        load_captures(folder)
    message = str(caught.value)
    assert message.startswith(f"{folder}: ")
    assert ";" in message
    assert "\n" not in message


def test_a_simulated_photograph_says_so(tmp_path):
    told = PngInfo()
    told.add_text("Software", "dotloupe.simulate")
    picture = Image.fromarray(np.full((90, 90, 3), 200, np.uint8))
    picture.save(tmp_path / "a.png", pnginfo=told)
    picture.save(tmp_path / "b.png")
    simulated, plain = load_captures(tmp_path)
    assert simulated.warnings == (*plain.warnings, Simulated())


def test_a_region_of_no_pixels_has_no_reflectance(tmp_path):
    path = tmp_path / "a.png"
    Image.fromarray(np.full((90, 90, 3), 200, np.uint8)).save(path)
    assert load_capture(path).region(slice(5, 5), slice(0, 40)).shape == (0, 40, 3)


def test_files_and_folders_may_be_given_together(tmp_path):
    for folder, names in (("one", ("b.png", "a.png", "notes.txt")), ("none", ())):
        (tmp_path / folder).mkdir()
        for name in names:
            (tmp_path / folder / name).write_bytes(b"any")
    lone = tmp_path / "missing.jpg"
    found = given_paths([lone, tmp_path / "one", tmp_path / "none"])
    # a folder without a photograph stays, to be named when it is read
    wanted = [lone, tmp_path / "one/a.png", tmp_path / "one/b.png", tmp_path / "none"]
    assert found == wanted
