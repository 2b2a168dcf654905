"""Every kind of file that a camera or its converter writes, and every way in which one can fail."""

import struct
import sys
import zlib

import cv2
import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms, ImageOps

from dotloupe.capture.loading import load_capture
from dotloupe.errors import InputError

SIZE = (80, 120)


def picture(bits):
    """Smooth, unlike itself under every turn and mirror, all channels different."""
    rows, columns = np.mgrid[0 : SIZE[0], 0 : SIZE[1]].astype(float)
    plane = (rows / SIZE[0] + 2 * columns / SIZE[1]) / 3
    coded = np.stack([plane, 1 - 0.7 * plane, 0.2 + 0.5 * plane**2], axis=-1)
    return np.round(coded * (2**bits - 1)).astype(np.uint8 if bits == 8 else np.uint16)


def refusal(path):
    with pytest.raises(InputError) as caught:
        load_capture(path)
    message = str(caught.value)
    assert message.startswith(f"{path}: ")
    assert "\n" not in message
    assert ";" in message  # what is wrong; what to do
    return message


@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("compression", [None, "zlib", "lzw"])
@pytest.mark.parametrize("planar", ["contig", "separate"])
def test_tiff_is_read_exactly(tmp_path, bits, compression, planar):
    path = tmp_path / "a.tif"
    sent = picture(bits)
    stored = sent if planar == "contig" else np.moveaxis(sent, -1, 0)
    tifffile.imwrite(
        path,
        stored,
        photometric="rgb",
        planarconfig=planar,
        compression=compression,
        rowsperstrip=7,
    )
    assert np.array_equal(load_capture(path).pixels, sent)


def test_big_tiff_and_tiles_are_read_exactly(tmp_path):
    path = tmp_path / "a.tiff"
    tifffile.imwrite(path, picture(16), photometric="rgb", bigtiff=True, tile=(32, 32))
    assert np.array_equal(load_capture(path).pixels, picture(16))


@pytest.mark.parametrize("bits", [8, 16])
def test_png_is_read_exactly(tmp_path, bits):
    path = tmp_path / "a.png"
    cv2.imwrite(str(path), picture(bits)[..., ::-1])
    assert np.array_equal(load_capture(path).pixels, picture(bits))


def test_jpeg_is_read_to_its_rounding(tmp_path):
    path = tmp_path / "a.jpg"
    Image.fromarray(picture(8)).save(path, quality=100, subsampling=0)
    off = np.abs(load_capture(path).pixels.astype(int) - picture(8))
    assert off.mean() < 1  # quality 100 still rounds the transform and the colour conversion


@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("kind", ["tif", "png"])
def test_grey_fills_three_channels_without_a_copy(tmp_path, bits, kind):
    path = tmp_path / f"a.{kind}"
    grey = np.ascontiguousarray(picture(bits)[..., 0])
    if kind == "tif":
        tifffile.imwrite(path, grey, photometric="minisblack")
    else:
        cv2.imwrite(str(path), grey)
    pixels = load_capture(path).pixels
    assert np.array_equal(pixels, np.repeat(grey[..., None], 3, axis=2))
    if kind == "tif":
        assert pixels.strides[2] == 0


@pytest.mark.parametrize("kind", ["tif", "png"])
@pytest.mark.parametrize("channels", [2, 4])
def test_alpha_is_dropped(tmp_path, kind, channels):
    path = tmp_path / f"a.{kind}"
    colours = picture(8)[..., : channels - 1]
    sent = np.concatenate([colours, np.full((*SIZE, 1), 40, np.uint8)], axis=2)
    if kind == "tif":
        photometric = "rgb" if channels == 4 else "minisblack"
        tifffile.imwrite(
            path, sent, photometric=photometric, extrasamples=["unassalpha"], planarconfig="contig"
        )
    else:
        Image.fromarray(sent).save(path)
    expected = np.broadcast_to(colours, picture(8).shape)
    assert np.array_equal(load_capture(path).pixels, expected)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("kind", ["tif", "png", "jpg"])
def test_orientation_agrees_with_pillow(tmp_path, orientation, kind):
    """Reference: Pillow's `ImageOps.exif_transpose`."""
    path = tmp_path / f"a.{kind}"
    if kind == "tif":
        tag = (274, "H", 1, orientation, True)
        tifffile.imwrite(path, picture(8), photometric="rgb", extratags=[tag])
    else:
        exif = Image.Exif()
        exif[274] = orientation
        Image.fromarray(picture(8)).save(path, exif=exif, quality=100, subsampling=0)
    with Image.open(path) as stored:
        expected = np.asarray(ImageOps.exif_transpose(stored), dtype=int)
    assert np.abs(load_capture(path).pixels - expected).max() <= 3  # two decoders' JPEG rounding


def test_a_thumbnail_beside_the_picture_is_passed_over(tmp_path):
    path = tmp_path / "a.tif"
    with tifffile.TiffWriter(path) as file:
        file.write(picture(8)[::4, ::4], photometric="rgb", subfiletype=1)
        file.write(picture(16), photometric="rgb", subfiletype=0)
    assert np.array_equal(load_capture(path).pixels, picture(16))


def test_missing_file(tmp_path):
    assert "no such file" in refusal(tmp_path / "none.tif")


def test_folder_in_place_of_a_file(tmp_path):
    assert "a folder" in refusal(tmp_path)


def test_empty_file(tmp_path):
    path = tmp_path / "a.jpg"
    path.touch()
    assert "empty" in refusal(path)


def test_text_named_tif(tmp_path):
    path = tmp_path / "a.tif"
    path.write_text("these are words, not a photograph")
    assert "not a photograph that is read" in refusal(path)


@pytest.mark.parametrize("share", [0.0002, 0.05, 0.5, 0.95])
@pytest.mark.parametrize("kind", ["plain.tif", "zlib.tif", "lzw.tif", "jpeg.tif", "a.png", "a.jpg"])
def test_cut_short(tmp_path, kind, share):
    path = tmp_path / kind
    rng = np.random.default_rng(3)
    noisy = rng.integers(0, 256, (200, 300, 3), dtype=np.uint8)
    if kind.endswith("tif"):
        compression = {"plain.tif": None}.get(kind, kind[:-4])
        tifffile.imwrite(path, noisy, photometric="rgb", compression=compression)
    else:
        Image.fromarray(noisy).save(path)
    data = path.read_bytes()
    path.write_bytes(data[: max(17, int(share * len(data)))])
    assert "damaged or cut short" in refusal(path)


def test_damaged_within(tmp_path):
    path = tmp_path / "a.png"
    cv2.imwrite(str(path), np.random.default_rng(0).integers(0, 256, (90, 90, 3), dtype=np.uint8))
    data = bytearray(path.read_bytes())
    data[len(data) // 2 : len(data) // 2 + 50] = bytes(50)
    path.write_bytes(data)
    assert "damaged" in refusal(path)


def test_float_tiff(tmp_path):
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, picture(8).astype(np.float32), photometric="rgb")
    assert "8 or 16 bits" in refusal(path)


def test_bilevel_tiff(tmp_path):
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, picture(8)[..., 0] > 90)
    assert "8 or 16 bits" in refusal(path)


def test_several_pages(tmp_path):
    path = tmp_path / "a.tif"
    with tifffile.TiffWriter(path) as file:
        for _ in range(3):
            file.write(picture(8), photometric="rgb")
    assert "3 pictures" in refusal(path)


def test_cmyk_and_palette_are_refused(tmp_path):
    tifffile.imwrite(tmp_path / "a.tif", np.zeros((*SIZE, 4), np.uint8), photometric="separated")
    assert "SEPARATED" in refusal(tmp_path / "a.tif")
    Image.new("CMYK", SIZE).save(tmp_path / "a.jpg")
    assert "CMYK" in refusal(tmp_path / "a.jpg")
    colours = np.zeros((3, 256), np.uint16)
    tifffile.imwrite(
        tmp_path / "b.tif", np.zeros(SIZE, np.uint8), photometric="palette", colormap=colours
    )
    assert "PALETTE" in refusal(tmp_path / "b.tif")


def test_a_spectral_stack_is_refused(tmp_path):
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, np.zeros((*SIZE, 6), np.uint8), photometric="minisblack")
    assert "not one picture" in refusal(path) or "pictures" in refusal(path)


def test_too_small(tmp_path):
    path = tmp_path / "a.png"
    cv2.imwrite(str(path), np.zeros((40, 300, 3), np.uint8))
    assert "300 x 40" in refusal(path)


def test_an_empty_png_body(tmp_path):
    path = tmp_path / "a.png"
    header = struct.pack(">IIBBBBB", 100, 100, 8, 2, 0, 0, 0)
    chunk = b"IHDR" + header
    end = b"\0\0\0\0IEND" + struct.pack(">I", zlib.crc32(b"IEND"))
    path.write_bytes(
        b"\x89PNG\r\n\x1a\n\0\0\0\x0d" + chunk + struct.pack(">I", zlib.crc32(chunk)) + end
    )
    assert "damaged" in refusal(path)


def test_profile_is_found_in_every_kind(tmp_path):
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    tifffile.imwrite(tmp_path / "a.tif", picture(16), photometric="rgb", iccprofile=profile)
    for kind in ("png", "jpg"):
        Image.fromarray(picture(8)).save(tmp_path / f"a.{kind}", icc_profile=profile)
    for kind in ("tif", "png", "jpg"):
        assert load_capture(tmp_path / f"a.{kind}").warnings == ()


def test_a_tiff_of_more_channels_than_colour_and_alpha_is_named(tmp_path):
    path = tmp_path / "a.tif"
    five = np.zeros((80, 120, 5), np.uint8)
    tifffile.imwrite(path, five, photometric="rgb", extrasamples=["unspecified"] * 2)
    assert refusal(path) == (f"{path}: not one picture in grey or RGB; export it flattened, as RGB")


def test_a_picture_that_the_library_gives_up_is_damaged(tmp_path, monkeypatch):
    def gives_up(*given):
        del given  # no frame may hold the file's bytes when it is closed
        raise cv2.error("no memory for it")

    path = tmp_path / "a.png"
    Image.fromarray(picture(8)).save(path)
    monkeypatch.setattr(cv2, "imdecode", gives_up)
    assert refusal(path) == f"{path}: the PNG is damaged or cut short; copy or export it again"


@pytest.mark.parametrize("byteorder", ["<", ">"])
@pytest.mark.parametrize("planar", ["contig", "separate"])
@pytest.mark.parametrize("compression", [None, "zlib"])
@pytest.mark.parametrize("bits", [8, 16])
def test_pixels_left_in_the_file_are_those_read(tmp_path, bits, compression, planar, byteorder):
    path = tmp_path / "picture.tif"
    pixels = picture(bits)
    stored = np.moveaxis(pixels, -1, 0) if planar == "separate" else pixels
    tifffile.imwrite(
        path,
        stored,
        photometric="rgb",
        compression=compression,
        planarconfig=planar,
        byteorder=byteorder,
    )
    mapped = load_capture(path, mapped=True).pixels
    assert mapped.dtype == pixels.dtype
    np.testing.assert_array_equal(mapped, pixels)
    owner = mapped
    while isinstance(owner.base, np.ndarray):
        owner = owner.base
    native = bits == 8 or (byteorder == "<") == (sys.byteorder == "little")
    assert isinstance(owner, np.memmap) == (compression is None and native)
