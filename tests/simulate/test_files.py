"""Captures on disk: depth, profile, note, and the same bytes each time."""

import io

import numpy as np
import pytest
import tifffile
from PIL import Image, ImageCms

from dotloupe import simulate
from dotloupe.errors import InputError


@pytest.fixture(scope="module")
def picture() -> simulate.Photograph:
    camera = simulate.Camera(width_px=120, height_px=80)
    return simulate.photograph(simulate.blank_sheet(2.0, 2.0), camera=camera)


def test_tiff_holds_sixteen_bits(picture: simulate.Photograph, tmp_path) -> None:
    path = simulate.write_capture(tmp_path / "shot.tif", picture)
    with tifffile.TiffFile(path) as file:
        page = file.pages[0]
        assert np.array_equal(page.asarray(), picture.coded(16))
        assert b"acsp" in page.iccprofile
        assert "Simulated" in page.description


@pytest.mark.parametrize("name", ["shot.png", "shot.jpg", "shot.JPEG"])
def test_eight_bits_with_profile_and_note(name, picture, tmp_path) -> None:
    path = simulate.write_capture(tmp_path / name, picture)
    with Image.open(path) as file:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(file.info["icc_profile"]))
        assert "sRGB" in ImageCms.getProfileDescription(profile)
        assert "Simulated" in file.getexif()[0x010E]
        difference = np.asarray(file).astype(int) - picture.coded(8)
    # PNG is exact; JPEG of quality 95 is within a few levels on paper.
    assert np.abs(difference).mean() <= (0.0 if name.endswith("png") else 1.5)


@pytest.mark.parametrize("ending", ["tif", "png", "jpg"])
def test_same_bytes_each_time(ending, picture, tmp_path) -> None:
    first = simulate.write_capture(tmp_path / f"a.{ending}", picture).read_bytes()
    assert first == simulate.write_capture(tmp_path / f"b.{ending}", picture).read_bytes()


def test_other_endings_are_refused(picture, tmp_path) -> None:
    with pytest.raises(InputError, match=r"\.tif, \.png or \.jpg"):
        simulate.write_capture(tmp_path / "shot.webp", picture)
