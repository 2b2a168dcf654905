"""What files say of the camera."""

import io

import numpy as np
import pytest
import tifffile
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from dotloupe.capture.exif import CameraSettings, camera_settings
from dotloupe.capture.file_cautions import CameraToneCurve, NoProfile
from dotloupe.capture.loading import load_capture

PICTURE = np.full((90, 120, 3), 200, np.uint8)


def exif(colour_space=1):
    told = Image.Exif()
    told[271], told[272], told[274] = "Invented", "Invented M1", 6
    inner = told.get_ifd(0x8769)
    inner[33434], inner[33437], inner[34855] = IFDRational(1, 60), IFDRational(8), 200
    inner[37386], inner[42036] = IFDRational(100), "Invented 100 mm macro"
    inner[40961] = colour_space
    inner[36867] = "2026:03:01 12:00:00"
    return told


def write_tiff(path):
    """Exposure in the main directory, as TIFF/EP (ISO 12234-2, from memory) has it."""
    tags = [(271, "s", 0, "Invented", True), (272, "s", 0, "Invented M1", True)]
    tags += [(274, "H", 1, 6, True), (42036, "s", 0, "Invented 100 mm macro", True)]
    tags += [(33434, "2I", 1, (1, 60), True), (33437, "2I", 1, (8, 1), True)]
    tags += [(34855, "H", 1, 200, True), (37386, "2I", 1, (100, 1), True)]
    options = {"software": False, "metadata": None, "datetime": "2026:03:01 12:00:00"}
    tifffile.imwrite(path, PICTURE, photometric="rgb", extratags=tags, **options)


@pytest.mark.parametrize("kind", ["jpg", "png", "tif"])
def test_camera_lens_and_exposure(tmp_path, kind):
    path = tmp_path / f"a.{kind}"
    if kind == "tif":
        write_tiff(path)
    else:
        Image.fromarray(PICTURE).save(path, exif=exif())
    told = load_capture(path).settings
    assert told.maker == "Invented"
    assert told.model == "Invented M1"
    assert told.lens == "Invented 100 mm macro"
    assert told.exposure_s == pytest.approx(1 / 60, rel=1e-3)
    assert told.f_number == pytest.approx(8)
    assert told.iso == 200
    assert told.focal_length_mm == pytest.approx(100)
    assert told.taken == "2026:03:01 12:00:00"
    assert told.orientation == 6
    assert load_capture(path).shape == (120, 90)


@pytest.mark.parametrize(("colour_space", "warnings"), [(1, ()), (65535, (NoProfile(),))])
def test_srgb_declared_by_exif_needs_no_profile(tmp_path, colour_space, warnings):
    path = tmp_path / "a.jpg"
    Image.fromarray(PICTURE).save(path, exif=exif(colour_space))
    assert load_capture(path).warnings == (*warnings, CameraToneCurve())


def test_silent_files(tmp_path):
    Image.fromarray(PICTURE).save(tmp_path / "a.png")
    tifffile.imwrite(tmp_path / "b.tif", PICTURE, photometric="rgb", metadata=None, software=False)
    for name in ("a.png", "b.tif"):
        assert load_capture(tmp_path / name).settings == CameraSettings()


def test_broken_exif_is_no_obstacle():
    assert camera_settings(io.BytesIO(b"\xff\xd8\xff\xe1\x00\x20Exif\0\0II*\0\xff\xff")) == (
        CameraSettings()
    )


def test_jpeg_steps_are_those_written(tmp_path):
    path = tmp_path / "a.jpg"
    steps = [3 + i // 4 for i in range(64)]
    Image.fromarray(PICTURE).save(path, qtables=[steps, steps])
    assert load_capture(path).jpeg_steps == tuple(steps)
    Image.fromarray(PICTURE).save(tmp_path / "a.png")
    assert load_capture(tmp_path / "a.png").jpeg_steps == ()


@pytest.mark.parametrize("name", ["a.png", "a.jpg"])
@pytest.mark.parametrize(("dpi", "known"), [(1200, True), (600, True), (300, False), (72, False)])
def test_a_scanners_resolution_is_read_from_png_and_jpeg(tmp_path, name, dpi, known):
    """PHYs of PNG counts by the metre, JFIF 1.02 by the inch."""
    Image.fromarray(PICTURE).save(tmp_path / name, dpi=(dpi, dpi))
    found = load_capture(tmp_path / name).settings.pixels_per_mm
    assert found == (pytest.approx(dpi / 25.4, rel=1e-4) if known else None)


@pytest.mark.parametrize(
    ("resolution", "unit", "per_mm"),
    [
        # TIFF 6.0: unit 2 is an inch of 25.4 mm, unit 3 a centimetre
        (1200, 2, 1200 / 25.4),
        (600, 2, 600 / 25.4),
        (480, 3, 48.0),
        # a camera's filler, or a file for printing
        (599, 2, None),
        (236, 3, None),
        (300, 2, None),
        # pixels that need not be square have no size
        (1200, 1, None),
    ],
)
def test_a_scanners_resolution_is_taken_and_a_cameras_filler_is_not(
    tmp_path, resolution, unit, per_mm
):
    path = tmp_path / "a.tif"
    told = {"resolution": (resolution, resolution), "resolutionunit": unit, "metadata": None}
    tifffile.imwrite(path, PICTURE, photometric="rgb", **told)
    found = load_capture(path).settings.pixels_per_mm
    assert found == (None if per_mm is None else pytest.approx(per_mm))


@pytest.mark.parametrize(("metres", "mm"), [(0.25, 250.0), (0.0, None), (40.0, None)])
def test_distance_to_the_print(tmp_path, metres, mm):
    """Tag 37382 in metres, 0 for unknown (CIPA DC-008)."""
    told = Image.Exif()
    told.get_ifd(0x8769)[37382] = IFDRational(round(100 * metres), 100)
    Image.fromarray(PICTURE).save(tmp_path / "a.jpg", exif=told)
    assert load_capture(tmp_path / "a.jpg").settings.distance_mm == mm
