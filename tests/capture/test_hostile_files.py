"""Files that no camera wrote: refused in one line, quickly, in little memory."""

import io
import os
import resource
import struct
import time
import zlib
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from dotloupe.capture.loading import capture_paths, load_capture
from dotloupe.capture.size_limit import MOST_MEGAPIXELS, MOST_VARIABLE
from dotloupe.errors import InputError

NOISE = np.random.default_rng(0).integers(0, 256, (90, 120, 3), dtype=np.uint8)
STRIP = np.random.default_rng(0).integers(0, 256, (1, 100_000, 3), dtype=np.uint8)
MOST_SECONDS = 2.0
"""Reading a header takes milliseconds; decoding what these files declare would take minutes."""
MOST_GROWTH_MB = 200
"""A frame of 3600 megapixels would take 10 800."""


def peak_mb():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def refusal(path):
    began, before = time.process_time(), peak_mb()
    with pytest.raises(InputError) as caught:
        load_capture(path)
    assert time.process_time() - began < MOST_SECONDS
    assert peak_mb() - before < MOST_GROWTH_MB
    message = str(caught.value)
    assert message.startswith(f"{path}: ")
    assert ";" in message  # what is wrong; what to do
    assert "\n" not in message
    return message


def save(picture, kind, **how):
    return lambda path: Image.fromarray(picture).save(path, kind, **how)


def save_tiff(picture, **how):
    return lambda path: tifffile.imwrite(path, picture, **how)


def converted(mode, kind):
    return lambda path: Image.fromarray(NOISE).convert(mode).save(path, kind)


def chunk(name, content):
    crc = struct.pack(">I", zlib.crc32(name + content))
    return struct.pack(">I", len(content)) + name + content + crc


def png(columns, rows, depth=8, colours=2, content=b"\0" * 100_000):
    header = struct.pack(">IIBBBBB", columns, rows, depth, colours, 0, 0, 0)
    parts = chunk(b"IHDR", header), chunk(b"IDAT", zlib.compress(content)), chunk(b"IEND", b"")
    return lambda path: path.write_bytes(b"\x89PNG\r\n\x1a\n" + b"".join(parts))


def jpeg_that_declares(columns, rows):
    def write(path):
        kept = io.BytesIO()
        Image.fromarray(NOISE).save(kept, "jpeg")
        data = bytearray(kept.getvalue())
        place = data.index(b"\xff\xc0") + 5
        data[place : place + 4] = struct.pack(">HH", rows, columns)
        path.write_bytes(data)

    return write


def tiff_that_declares(side, compression):
    def write(path):
        tifffile.imwrite(path, NOISE, photometric="rgb", compression=compression)
        with tifffile.TiffFile(path, mode="r+") as file:
            for name in ("ImageLength", "ImageWidth", "RowsPerStrip"):
                file.pages.first.tags[name].overwrite(side)

    return write


def with_nan_and_infinity():
    light = NOISE.astype(np.float32) / 255
    light[0, 0], light[1, 1] = np.nan, np.inf
    return light


REFUSED = {
    "one pixel.png": (save(NOISE[:1, :1], "png"), "1 x 1 pixels is too small"),
    "one pixel.jpg": (save(NOISE[:1, :1], "jpeg"), "1 x 1 pixels is too small"),
    "one pixel.tif": (save_tiff(NOISE[:1, :1], photometric="rgb"), "1 x 1 pixels is too small"),
    "one row.png": (save(STRIP, "png"), "100000 x 1 pixels is too small"),
    "one row.tif": (save_tiff(STRIP, photometric="rgb"), "100000 x 1 pixels is too small"),
    "one column.jpg": (save(STRIP.reshape(-1, 1, 3)[:65000], "jpeg"), "1 x 65000 pixels is too"),
    "strip.png": (png(300_000, 64), "300000 x 64 pixels, a strip"),
    "cmyk.jpg": (converted("CMYK", "jpeg"), "CMYK"),
    "cmyk.tif": (converted("CMYK", "tiff"), "SEPARATED"),
    "palette.png": (converted("P", "png"), "palette"),
    "palette.tif": (converted("P", "tiff"), "PALETTE"),
    "one bit.png": (converted("1", "png"), "1 bits a channel"),
    "four bits.png": (png(96, 80, 4, 0, bytes(80 * 49)), "4 bits a channel"),
    "one bit.tif": (converted("1", "tiff"), "1 bits a channel"),
    "float.tif": (save_tiff(with_nan_and_infinity(), photometric="rgb"), "float32"),
    "half.tif": (save_tiff(NOISE.astype(np.float16), photometric="rgb"), "float16"),
    "32 bits.tif": (save_tiff(NOISE.astype(np.uint32), photometric="rgb"), "uint32"),
    "signed.tif": (save_tiff(NOISE.astype(np.int16), photometric="rgb"), "int16"),
    "white is zero.tif": (save_tiff(NOISE[..., 0], photometric="miniswhite"), "MINISWHITE"),
    "moving.png": (
        save(NOISE, "png", save_all=True, append_images=[Image.fromarray(NOISE[::-1].copy())]),
        "holds 2 pictures",
    ),
    "gif inside.jpg": (save(NOISE, "gif"), "GIF inside, which is not read"),
    "text.png": (
        lambda path: path.write_bytes(b"no picture" * 99),
        "not a photograph that is read",
    ),
    "jpeg inside.nef": (save(NOISE, "jpeg"), "not a camera file"),
    "huge.png": (png(60_000, 60_000), "60000 x 60000 pixels declared, over the limit of 500 mega"),
    "hugest.png": (png(2**31 - 1, 2**31 - 1), "over the limit"),
    "huge.jpg": (jpeg_that_declares(65_000, 65_000), "over the limit"),
    "huge.tif": (tiff_that_declares(40_000, "zlib"), "over the limit"),
    "huge plain.tif": (tiff_that_declares(30_000, None), "over the limit"),
    "large and empty.png": (png(15_000, 15_000), "damaged or cut short"),
    "large and empty.jpg": (jpeg_that_declares(4_000, 4_000), "damaged or cut short"),
    "large and empty.tif": (tiff_that_declares(9_000, "zlib"), "damaged or cut short"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_it_is_refused_in_one_line(tmp_path, name, capfd):
    write, words = REFUSED[name]
    write(tmp_path / name)
    assert words in refusal(tmp_path / name)
    assert capfd.readouterr() == ("", "")  # libraries say nothing beside it


def test_a_chain_of_pictures_without_end_is_left(tmp_path):
    path = tmp_path / "a.tif"
    with tifffile.TiffWriter(path) as file:
        for _ in range(70):
            file.write(NOISE[:8, :8], photometric="rgb", contiguous=False, metadata=None)
    assert "holds over 64 pictures" in refusal(path)


@pytest.mark.parametrize("place", [0.3, 0.6, 0.9])
def test_damage_within_a_jpeg_is_noticed(tmp_path, place, capfd):
    """Decoders fill in what they cannot read and go on; the photograph would be measured."""
    path = tmp_path / "a.jpg"
    smooth = np.linspace(0, 255, 300, dtype=np.uint8)[None, :, None].repeat(200, 0).repeat(3, 2)
    Image.fromarray(smooth).save(path, quality=95)
    data = bytearray(path.read_bytes())
    start = int(place * len(data))
    data[start : start + 40] = b"\xff\xd9" * 20
    path.write_bytes(data)
    assert "damaged" in refusal(path)
    assert capfd.readouterr().err == ""


def test_the_limit_of_size_can_be_set(tmp_path, monkeypatch):
    assert MOST_MEGAPIXELS == 500  # as README says
    path = tmp_path / "a.png"
    Image.fromarray(NOISE).save(path)
    monkeypatch.setenv(MOST_VARIABLE, "0.01")  # the picture holds 0.0108 megapixels
    assert "120 x 90 pixels declared, over the limit of 0.01 megapixels" in refusal(path)
    monkeypatch.setenv(MOST_VARIABLE, "0.0108")
    assert load_capture(path).shape == (90, 120)
    png(60_000, 60_000)(tmp_path / "huge.png")
    monkeypatch.setenv(MOST_VARIABLE, "4000")
    assert "damaged" in refusal(tmp_path / "huge.png")


@pytest.mark.parametrize("said", ["many", "-1", "0", "nan"])
def test_a_limit_that_is_none_is_refused(tmp_path, monkeypatch, said):
    path = tmp_path / "a.png"
    Image.fromarray(NOISE).save(path)
    monkeypatch.setenv(MOST_VARIABLE, said)
    with pytest.raises(InputError, match=f"{MOST_VARIABLE}={said}: give a number"):
        load_capture(path)


def test_photographs_over_the_librarys_own_limit_are_read(tmp_path, monkeypatch):
    """Pillow warns from 89 megapixels and refuses from 179, from memory; scanners give more."""
    path = tmp_path / "large.png"
    Image.fromarray(NOISE).save(path)
    monkeypatch.setattr(Image, "MAX_IMAGE_PIXELS", NOISE.size // 3 // 4)
    with pytest.raises(Image.DecompressionBombError):
        Image.open(path)
    assert np.array_equal(load_capture(path).pixels, NOISE)


def test_a_link_out_of_the_folder_is_read_and_a_broken_one_is_named(tmp_path):
    folder, outside = tmp_path / "fast", tmp_path / "outside.png"
    folder.mkdir()
    Image.fromarray(NOISE).save(outside)
    (folder / "a.png").symlink_to(outside)
    (folder / "b.png").symlink_to(tmp_path / "gone.png")
    (folder / "c.png").symlink_to(folder / "c.png")
    assert [p.name for p in capture_paths(folder)] == ["a.png", "b.png", "c.png"]
    assert np.array_equal(load_capture(folder / "a.png").pixels, NOISE)
    assert "a link that leads nowhere" in refusal(folder / "b.png")
    assert "symbolic links" in refusal(folder / "c.png")


def test_names_that_are_not_text(tmp_path):
    path = tmp_path / os.fsdecode(b"print\xff\xfe.png")
    Image.fromarray(NOISE).save(path)
    assert capture_paths(tmp_path) == [path]
    assert load_capture(path).name == "print\udcff\udcfe.png"


@pytest.mark.parametrize("name", ["x" * 300 + ".jpg", "a/b.png/c.png"])
def test_names_that_no_file_can_have(tmp_path, name):
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "b.png").touch()
    refusal(tmp_path / name)
    with pytest.raises(InputError):
        capture_paths(tmp_path / name)


def test_a_name_with_a_zero_byte(tmp_path):
    with pytest.raises(InputError, match="no name that a file can have"):
        load_capture(tmp_path / "a\0b.jpg")


def test_pipes_and_devices_are_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "a.jpg")
    assert "a device or pipe" in refusal(tmp_path / "a.jpg")
    assert "a device or pipe" in refusal(Path("/dev/zero"))
    (tmp_path / "b.png").touch()
    assert [p.name for p in capture_paths(tmp_path)] == ["b.png"]
