"""Camera files, from DNGs that the tests write: linear, whole and as sharp as the mosaic."""

import numpy as np
import pytest
import tifffile

from dotloupe.capture.file_cautions import BilinearColours
from dotloupe.capture.loading import capture_paths, load_capture
from dotloupe.capture.mosaic import Mosaic, demosaic, pedestal_curve
from dotloupe.errors import InputError

BLACK, WHITE = 512, 15871
SHARES = (0.6, 1.0, 0.7)
"""Light that red, green and blue pixels see of one neutral: a camera's own white balance."""
CFA, LINEAR_RAW = 32803, 34892
RGGB, GBRG = (0, 1, 1, 2), (1, 2, 0, 1)


def write_dng(path, counts, *, pattern=RGGB, orientation=1, white=WHITE, size=2):
    """Adobe DNG 1.4 tags, from memory: version, mosaic, black, white, matrix, exposure."""
    colours = max(pattern) + 1 if pattern else 1 if counts.ndim == 2 else 3
    rows = np.vstack([np.eye(3), np.ones(3)])[:colours]
    matrix = [part for v in rows.ravel() for part in (int(v * 10000), 10000)]
    samples = 1 if counts.ndim == 2 else 3
    tags = [
        (271, "s", 0, "Invented", True),
        (272, "s", 0, "Invented M1", True),
        (274, "H", 1, orientation, True),
        (33434, "2I", 1, (1, 125), True),
        (33437, "2I", 1, (56, 10), True),
        (34855, "H", 1, 100, True),
        (50706, "B", 4, bytes((1, 4, 0, 0)), True),
        (50708, "s", 0, "Invented M1", True),
        (50717, "H", samples, (white,) * samples, True),
        (50721, "2i", 3 * colours, matrix, True),
    ]
    if pattern is not None:
        tags += [
            (33421, "H", 2, (size, size), True),
            (33422, "B", size * size, bytes(pattern), True),
            (50713, "H", 2, (2, 2), True),
            (50714, "H", 4, (BLACK,) * 4, True),
        ]
    else:
        tags.append((50714, "H", samples, (BLACK,) * samples, True))
    if colours == 4:
        tags.append((50710, "B", 4, bytes(range(4)), True))
    if colours == 3:
        tags.append((50728, "2I", 3, (6, 10, 10, 10, 7, 10), True))
    photometric = CFA if pattern is not None else LINEAR_RAW
    written = photometric if pattern is not None or samples == 3 else 1
    tifffile.imwrite(
        path,
        counts,
        photometric=written,
        planarconfig="contig" if samples == 3 else None,
        extratags=tags,
        metadata=None,
        software=False,
        subfiletype=0,
    )
    if written != photometric:
        with tifffile.TiffFile(path, mode="r+") as file:
            file.pages.first.tags[262].overwrite(photometric)
    return path


def counts_of(light):
    return np.round(BLACK + light * (WHITE - BLACK)).astype(np.uint16)


def bayer(light, pattern=RGGB):
    """Mosaic of a neutral picture by a camera of these `SHARES`."""
    seen = np.empty_like(light)
    for place, band in enumerate(pattern):
        sites = slice(place // 2, None, 2), slice(place % 2, None, 2)
        seen[sites] = light[sites] * SHARES[band]
    return seen


def steps_on_paper(paper=0.8):
    light = np.full((240, 360), paper)
    tints = np.geomspace(1, 0.01, 10)
    for i, tint in enumerate(tints):
        light[40:100, 36 * i : 36 * i + 24] = paper * tint
    return light, tints


@pytest.mark.parametrize("paper", [0.9, 0.5, 0.25])
@pytest.mark.parametrize("pattern", [RGGB, GBRG])
def test_linear_to_half_a_percent_at_every_exposure(tmp_path, paper, pattern):
    light, tints = steps_on_paper(paper)
    noise = np.random.default_rng(0).normal(0, 2 / (WHITE - BLACK), light.shape)
    counts = counts_of(bayer(light, pattern) + noise)
    capture = load_capture(write_dng(tmp_path / "a.dng", counts, pattern=pattern))
    read = np.array(
        [
            capture.reflectance[46:94, 36 * i + 6 : 36 * i + 18].mean(axis=(0, 1))
            for i in range(len(tints))
        ]
    )
    # The darkest tint is 23 counts; over its 144 red pixels two counts of noise average to 0.17,
    # so single colours are held to 1.5 % there, their mean and the lighter tints to 0.5 %.
    assert np.abs(read[:-3] / tints[:-3, None] - 1).max() < 0.005
    assert np.abs(read.mean(axis=1) / tints - 1).max() < 0.005
    assert np.abs(read / tints[:, None] - 1).max() < 0.015
    assert capture.paper_level == pytest.approx(paper * np.array(SHARES), rel=0.002)
    assert capture.warnings == ()


def test_the_scale_does_not_follow_the_frame(tmp_path):
    """Raw libraries are apt to stretch each frame to its own brightest pixel."""
    light, _ = steps_on_paper(0.3)
    plain = load_capture(write_dng(tmp_path / "a.dng", counts_of(bayer(light))))
    light[0:20, 0:20] = 1.0
    lamp = load_capture(write_dng(tmp_path / "b.dng", counts_of(bayer(light))))
    assert np.array_equal(plain.pixels[60:], lamp.pixels[60:])


def test_noise_below_black_is_kept(tmp_path):
    rng = np.random.default_rng(0)
    light = np.full((200, 300), 0.5)
    light[50:150] = 0
    noisy = np.clip(
        np.round(BLACK + bayer(light) * (WHITE - BLACK) + rng.normal(0, 20, (200, 300))), 0, None
    )
    capture = load_capture(write_dng(tmp_path / "a.dng", noisy.astype(np.uint16)))
    dark = capture.region(slice(60, 140), slice(20, 280))
    # 20 counts of 15359 over 20 800 pixels: the mean's own error is 2e-5; folding would leave 2e-3.
    assert abs(dark.mean()) < 1e-4
    assert dark.min() < -0.003


def test_full_pixels_stay_full(tmp_path):
    light, _ = steps_on_paper()
    counts = counts_of(bayer(light))
    counts[120:140, 50:90] = WHITE + 3
    pixels = load_capture(write_dng(tmp_path / "a.dng", counts)).pixels
    assert np.all(pixels[124:136, 54:86] == 65535)


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_orientation(tmp_path, orientation):
    light, _ = steps_on_paper()
    plain = load_capture(write_dng(tmp_path / "a.dng", counts_of(bayer(light))))
    path = write_dng(tmp_path / "b.dng", counts_of(bayer(light)), orientation=orientation)
    turned = load_capture(path)
    turns = {1: 0, 3: 2, 6: 3, 8: 1}[orientation]  # quarter turns against the clock
    assert np.array_equal(turned.pixels, np.rot90(plain.pixels, turns))
    assert turned.settings.orientation == orientation


def test_settings(tmp_path):
    light, _ = steps_on_paper()
    told = load_capture(write_dng(tmp_path / "a.dng", counts_of(bayer(light)))).settings
    assert (told.maker, told.model, told.iso) == ("Invented", "Invented M1", 100)
    assert told.exposure_s == pytest.approx(1 / 125)
    assert told.f_number == pytest.approx(5.6)


def test_a_sensor_without_colours_needs_no_interpolation(tmp_path):
    light, _ = steps_on_paper()
    path = write_dng(tmp_path / "a.dng", counts_of(light), pattern=None)
    capture = load_capture(path)
    assert np.abs(capture.linear[capture.pixels[..., 1]] - light).max() < 1e-4
    assert capture.warnings == ()


def test_three_layers_need_no_interpolation(tmp_path):
    light, _ = steps_on_paper()
    seen = light[..., None] * np.array(SHARES)
    capture = load_capture(write_dng(tmp_path / "a.dng", counts_of(seen), pattern=None))
    assert np.abs(capture.linear[capture.pixels] - seen).max() < 1e-4


def test_another_mosaic_is_read_by_the_library_and_says_so(tmp_path):
    cell = (1, 2, 1, 1, 0, 1, 0, 1, 0, 2, 1, 2, 1, 2, 1, 1, 0, 1)
    pattern = (*cell, 1, 0, 1, 1, 2, 1, 2, 1, 2, 0, 1, 0, 1, 0, 1, 1, 2, 1)
    counts = np.full((240, 360), 6000, np.uint16)
    counts[0, 0] = 5999  # one value alone would be no picture
    path = write_dng(tmp_path / "a.dng", counts, pattern=pattern, size=6)
    capture = load_capture(path)
    assert capture.warnings == (BilinearColours(),)
    assert np.abs(capture.reflectance[20:-20, 20:-20] - 1).max() < 0.005


@pytest.mark.parametrize("angle_deg", [0, 30, 45, 90])
def test_neutral_detail_is_not_blurred(angle_deg):
    """Against the closed form: green gains (1 + T) / 2, T = mean cosine + sum of sin^2 / 4."""
    frequency = 0.15  # cycles/pixel: 12 cycles/mm, all that a print holds, at 80 pixels/mm
    y, x = np.mgrid[0:256, 0:256].astype(float)
    wx, wy = (2 * np.pi * frequency * f(np.radians(angle_deg)) for f in (np.cos, np.sin))
    light = 0.5 + 0.4 * np.cos(wx * x + wy * y)
    bands = np.array(RGGB).reshape(2, 2)
    mosaic = Mosaic(counts_of(bayer(light)), bands, np.full((2, 2), float(BLACK)), WHITE)
    pixels = demosaic(mosaic, 0.5 * np.array(SHARES))
    seen = pedestal_curve()[pixels] / SHARES
    wave = np.exp(-1j * (wx * x + wy * y))[20:-20, 20:-20]
    window = np.outer(np.hanning(216), np.hanning(216))
    gain = [
        abs(np.sum((seen[20:-20, 20:-20, band] - 0.5) * window * wave) / np.sum(window)) / 0.2
        for band in range(3)
    ]
    filled = (np.cos(wx) + np.cos(wy)) / 2 + (np.sin(wx) ** 2 + np.sin(wy) ** 2) / 4
    assert gain[1] == pytest.approx((1 + filled) / 2, abs=2e-3)
    assert min(gain) > 0.94  # bilinear interpolation leaves 0.90 of green and 0.79 of red along x


@pytest.mark.parametrize("kind", ["words", "cut", "developed"])
def test_files_at_fault(tmp_path, kind, capfd):
    light, _ = steps_on_paper()
    path = write_dng(tmp_path / "a.dng", counts_of(bayer(light)))
    if kind == "words":
        path.write_text("no photograph " * 100)
    elif kind == "cut":
        path.write_bytes(path.read_bytes()[:60000])
    else:
        path.unlink()
        tifffile.imwrite(path, np.zeros((90, 90, 3), np.uint8), photometric="rgb")
    with pytest.raises(
        InputError, match="not a camera file that can be read, or cut short; copy"
    ) as caught:
        load_capture(path)
    assert str(caught.value).startswith(f"{path}: ")
    assert capfd.readouterr().err == ""


def test_a_dng_named_tif_is_still_a_camera_file(tmp_path):
    light, _ = steps_on_paper()
    path = write_dng(tmp_path / "a.tif", counts_of(bayer(light)))
    assert load_capture(path).pixels.shape == (240, 360, 3)


def test_a_photograph_kept_twice_counts_once(tmp_path):
    for name in ("one.dng", "one.jpg", "two.jpg", "three.NEF"):
        (tmp_path / name).write_bytes(b"any")
    assert [p.name for p in capture_paths(tmp_path)] == ["one.dng", "three.NEF", "two.jpg"]


def test_a_black_over_its_white_is_no_camera_file(tmp_path):
    light, _ = steps_on_paper()
    path = write_dng(tmp_path / "a.dng", counts_of(bayer(light)), white=BLACK - 1)
    with pytest.raises(InputError) as caught:
        load_capture(path)
    assert str(caught.value) == (
        f"{path}: not a camera file that can be read, or cut short; "
        "copy it again or export a 16-bit TIFF"
    )


def test_a_sensor_of_four_colours_is_named(tmp_path):
    light, _ = steps_on_paper()
    path = write_dng(tmp_path / "a.dng", counts_of(light), pattern=(0, 1, 2, 3))
    with pytest.raises(InputError) as caught:
        load_capture(path)
    assert str(caught.value) == (f"{path}: its sensor has not three colours; export a 16-bit TIFF")


@pytest.mark.parametrize("value", [0, BLACK, WHITE])
def test_a_file_of_one_value_alone_is_no_picture(tmp_path, value):
    """As of a DNG whose image data were taken out, which the raw library fills with zeros."""
    path = write_dng(tmp_path / "a.dng", np.full((240, 360), value, np.uint16))
    with pytest.raises(InputError, match="holds no picture, or one value alone"):
        load_capture(path)


def noisy_mosaic():
    light, _ = steps_on_paper()
    noise = np.random.default_rng(0).normal(0, 0.01, light.shape)
    return counts_of(np.clip(bayer(light) + noise, 0, 1))


def test_a_mosaic_without_its_colours_is_not_read_as_grey(tmp_path):
    grey, marked, dng = (tmp_path / name for name in ("grey.tif", "marked.tif", "a.dng"))
    tifffile.imwrite(grey, noisy_mosaic(), photometric="minisblack")
    tifffile.imwrite(marked, noisy_mosaic(), photometric=CFA)
    version = [(50706, "B", 4, bytes((1, 4, 0, 0)), True)]
    tifffile.imwrite(dng, noisy_mosaic(), photometric=CFA, extratags=version)
    for path in (grey, marked, dng):
        with pytest.raises(InputError, match="the mosaic of a colour sensor"):
            load_capture(path)


def test_a_grey_picture_of_lines_is_no_mosaic(tmp_path):
    """Lines of every period from 1.9 pixels on, and strong noise."""
    rows, columns = np.mgrid[0:300, 0:400]
    light = 0.5 + 0.3 * np.sin(2 * np.pi * columns / (1.9 + 6 * rows / 300))
    light += np.random.default_rng(0).normal(0, 0.1, light.shape)
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, counts_of(np.clip(light, 0, 1)), photometric="minisblack")
    assert load_capture(path).pixels.shape == (300, 400, 3)


@pytest.mark.parametrize("marked", [True, False])
def test_a_thumbnail_before_a_picture_is_not_read_for_it(tmp_path, marked):
    light, _ = steps_on_paper()
    thumbnail = np.repeat(np.uint8(255 * light[:, :, None]), 3, axis=2)
    path = tmp_path / "a.tif"
    with tifffile.TiffWriter(path) as file:
        file.write(thumbnail, photometric="rgb", subfiletype=int(marked), subifds=1, metadata=None)
        file.write(np.tile(noisy_mosaic(), (2, 2)), photometric=CFA, metadata=None)
    with pytest.raises(InputError, match="behind a reduced copy"):
        load_capture(path)


def test_a_thumbnail_alone_is_no_photograph(tmp_path):
    light, _ = steps_on_paper()
    path = tmp_path / "a.tif"
    tifffile.imwrite(path, np.uint8(255 * light), photometric="minisblack", subfiletype=1)
    with pytest.raises(InputError, match="behind a reduced copy"):
        load_capture(path)
