"""Pictures show the millimetres that they say, at the scale that they say."""

import io
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

import dotloupe
from dotloupe.compare.ranking.ranking import rank
from dotloupe.patch.srgb import srgb_decode
from dotloupe.report.crops.crop import PAPER_LEVEL, Box, Unseen, encoded, photograph


@pytest.fixture(scope="module")
def shot(pictured):
    return photograph(pictured.measurements["fast"][0])


def centre_of_dark(light):
    """Centre in pixels from the left border of an upright line on paper."""
    profile = light.mean(axis=0)
    dark = np.clip(profile[[0, -1]].mean() - profile, 0, None)
    return float((dark * (np.arange(dark.size) + 0.5)).sum() / dark.sum())


@pytest.mark.parametrize("pixels_per_mm", [12.0, 30.0, 80.0])
def test_a_line_lies_where_the_patch_has_it(pictured, shot, pixels_per_mm):
    patch = pictured.measurements["fast"][0].registration.patch
    x, y = patch.regions["line_x_0_black"].centre_mm
    picture = shot.picture(Box(x - 0.25, y - 1, 0.5, 2.0), pixels_per_mm)
    assert picture.shape == (2 * pixels_per_mm, 0.5 * pixels_per_mm, 3)
    light = srgb_decode(picture[..., 1] / 255)
    # a tenth of a photograph's pixel is 3 um
    assert centre_of_dark(light) / pixels_per_mm == pytest.approx(0.25, abs=0.003)


def test_tones_are_those_of_the_patch(pictured, shot):
    patch = pictured.measurements["fast"][0].registration.patch
    for name, reflectance in (("tint_grey60", 0.6), ("tint_grey25", 0.25), ("tint_paper", 1.0)):
        x, y = patch.regions[name].centre_mm
        light = srgb_decode(shot.picture(Box(x - 1, y - 1, 2, 2), 30.0) / 255)
        # paper is estimated from the brighter part of a grainy frame: within 3 %
        assert light.mean() == pytest.approx(PAPER_LEVEL * reflectance, rel=0.03)


def test_strips_join_without_a_seam(shot):
    whole = shot.picture(Box(0, 0, 30, 20), 20.0)
    # strips are 2 mm deep: this box starts in one and ends in the next
    part = shot.picture(Box(10, 3, 5, 2.5), 20.0)
    assert np.abs(whole[60:110, 200:300].astype(int) - part).max() <= 1


def test_outside_the_photograph_is_black(shot):
    picture = shot.picture(Box(-30, -30, 2, 2), 20.0)
    assert picture.shape == (40, 40, 3)
    assert not picture.any()


def test_a_file_that_changed_or_went_is_not_shown(pictured, tmp_path):
    m = pictured.measurements["fast"][0]
    gone = photograph(replace(m, path=str(tmp_path / "gone.png")))
    changed = photograph(replace(m, sha256="0" * 64))
    placeless = photograph(m.bare())
    assert all(isinstance(found, Unseen) for found in (gone, changed, placeless))
    assert "not the one that was measured" in changed.reason
    settings = {
        "gone": [replace(m, path=str(tmp_path / "gone.png"))],
        "there": pictured.measurements["fine"],
    }
    page = dotloupe.write_report(rank(settings), tmp_path / "report")
    assert "Not shown" in page.read_text(encoding="utf-8")
    assert len(list((tmp_path / "report" / "pictures").iterdir())) > 0


def test_files_hold_what_was_cut(shot):
    picture = shot.picture(Box(5, 5, 4, 4), 40.0)
    again = np.asarray(Image.open(io.BytesIO(encoded(picture, 88))))
    assert again.shape == picture.shape
    # what JPEG at this quality leaves of grain, in codes of 255
    assert np.abs(again.astype(int) - picture).mean() < 6
