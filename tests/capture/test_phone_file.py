"""HEIC, AVIF and WebP: read to what their compression leaves, with profile and orientation."""

import imagecodecs
import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageCms

from dotloupe.capture.file_cautions import CompressedWithLoss
from dotloupe.capture.loading import capture_paths, given_paths, load_capture
from dotloupe.errors import InputError

pillow_heif.register_heif_opener()
KINDS = {"heic": "HEIC", "avif": "AVIF", "webp": "WebP"}
SIZE = (160, 240)
SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def picture():
    """Smooth, unlike itself under every turn and mirror."""
    rows, columns = np.mgrid[0 : SIZE[0], 0 : SIZE[1]].astype(float)
    plane = (rows / SIZE[0] + 2 * columns / SIZE[1]) / 3
    return np.round(255 * np.stack([plane, 0.9 - 0.7 * plane, plane**2], axis=-1)).astype(np.uint8)


def written(folder, kind, **how):
    path = folder / f"a.{kind}"
    Image.fromarray(picture()).save(path, quality=95, **how)
    return path


@pytest.mark.parametrize("kind", KINDS)
def test_read_to_the_rounding_of_its_compression(tmp_path, kind):
    capture = load_capture(written(tmp_path, kind, icc_profile=SRGB))
    assert capture.pixels.shape == (*SIZE, 3)
    assert np.abs(capture.pixels.astype(int) - picture()).mean() < 2.5  # colours at half size
    assert capture.warnings == (CompressedWithLoss(KINDS[kind]),)


@pytest.mark.parametrize("kind", KINDS)
def test_the_profile_of_the_file_makes_its_light(tmp_path, kind):
    """A profile of gamma 1.8 for one of sRGB: middle grey is 0.287 of white, not 0.214."""
    profile = bytes(
        imagecodecs.cms_profile(
            "rgb",
            whitepoint=(0.3127, 0.3290, 1.0),
            primaries=(0.64, 0.33, 1.0, 0.30, 0.60, 1.0, 0.15, 0.06, 1.0),
            gamma=1.8,
        )
    )
    capture = load_capture(written(tmp_path, kind, icc_profile=profile))
    assert capture.linear[127] == pytest.approx((127 / 255) ** 1.8, rel=0.01)


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("orientation", range(1, 9))
def test_turned_upright_as_the_file_says(tmp_path, kind, orientation):
    """Against the turns of the imaging library, by the EXIF tag (CIPA DC-008, from memory)."""
    exif = Image.Exif()
    exif[274] = orientation
    path = written(tmp_path, kind, exif=exif, icc_profile=SRGB)
    turns = {
        2: Image.Transpose.FLIP_LEFT_RIGHT,
        3: Image.Transpose.ROTATE_180,
        4: Image.Transpose.FLIP_TOP_BOTTOM,
        5: Image.Transpose.TRANSPOSE,
        6: Image.Transpose.ROTATE_270,
        7: Image.Transpose.TRANSVERSE,
        8: Image.Transpose.ROTATE_90,
    }
    upright = Image.fromarray(picture())
    if orientation > 1:
        upright = upright.transpose(turns[orientation])
    pixels = load_capture(path).pixels
    assert pixels.shape[:2] == upright.size[::-1]
    assert np.abs(pixels.astype(int) - np.asarray(upright)).mean() < 2.5


def test_an_heic_turned_by_its_own_boxes_is_not_turned_twice(tmp_path):
    """As telephones write it: the box says how, and EXIF says the same once more."""
    path = tmp_path / "a.heic"
    exif = Image.Exif()
    exif[274] = 6
    pillow_heif.encode(
        "RGB",
        SIZE[::-1],
        picture().tobytes(),
        str(path),
        quality=95,
        exif=exif.tobytes(),
    )
    assert b"irot" in path.read_bytes()
    pixels = load_capture(path).pixels
    assert pixels.shape[:2] == SIZE[::-1]
    assert np.abs(pixels.astype(int) - np.rot90(picture(), -1)).mean() < 2.5


def test_ten_bits_of_an_heic_reach_full_white(tmp_path):
    path = tmp_path / "a.heic"
    sent = np.full((*SIZE, 3), 65535, np.uint16)
    sent[:, :120] = 16384
    pillow_heif.encode("RGB;16", SIZE[::-1], sent.tobytes(), str(path), quality=-1)
    pixels = load_capture(path).pixels.astype(int)
    assert np.abs(pixels[80, 200] - 65535).max() < 130  # two of 1023 steps
    assert np.abs(pixels[80, 40] - 16384).max() < 130


def test_a_webp_without_loss_is_read_exactly_and_warns_of_nothing(tmp_path):
    capture = load_capture(written(tmp_path, "webp", icc_profile=SRGB, lossless=True))
    assert np.array_equal(capture.pixels, picture())
    assert capture.warnings == ()


@pytest.mark.parametrize("kind", KINDS)
def test_damaged_files_are_named(tmp_path, kind):
    path = written(tmp_path, kind)
    path.write_bytes(path.read_bytes()[:300])
    with pytest.raises(InputError, match=f"the {KINDS[kind]} is damaged or cut short"):
        load_capture(path)


def test_a_moving_webp_is_refused(tmp_path):
    path = tmp_path / "a.webp"
    frame = Image.fromarray(picture())
    frame.save(path, save_all=True, append_images=[frame.rotate(180)])
    with pytest.raises(InputError, match="holds 2 pictures"):
        load_capture(path)


def test_no_kind_of_picture_is_passed_over_in_a_folder(tmp_path):
    for name in ("a.heic", "b.avif", "c.webp", "d.jxl", "e.gif", "notes.txt"):
        (tmp_path / name).write_bytes(b"nothing")
    named = [path.name for path in capture_paths(tmp_path)]
    assert named == ["a.heic", "b.avif", "c.webp", "d.jxl", "e.gif"]
    assert [path.name for path in given_paths([tmp_path])] == named


def test_a_folder_of_no_picture_names_what_it_holds(tmp_path):
    (tmp_path / "a.xyz").write_bytes(b"nothing")
    with pytest.raises(InputError, match=r"only files of \.xyz"):
        capture_paths(tmp_path)


@pytest.mark.parametrize(
    ("start", "kind"),
    [(b"\xff\x0a", "JPEG XL"), (b"GIF89a", "GIF"), (b"\0\0\0\x0cjP  \r\n", "JPEG 2000")],
)
def test_kinds_that_are_not_read_are_named(tmp_path, start, kind):
    path = tmp_path / "a.jpg"
    path.write_bytes(start + bytes(200))
    with pytest.raises(InputError, match=f"{kind} inside, which is not read"):
        load_capture(path)
