"""Coded values to linear light, against the profiles' own closed forms."""

import imagecodecs
import numpy as np
import pytest
from PIL import ImageCms

from dotloupe.capture.file_cautions import NoProfile, UnusableProfile
from dotloupe.capture.tone import tone_curve

D65 = (0.3127, 0.3290, 1.0)
WIDE = (0.64, 0.33, 1.0, 0.21, 0.71, 1.0, 0.15, 0.06, 1.0)
"""Primaries of a wide-gamut working space of the trade, gamma 563/256 (from memory)."""


def srgb_light(coded):
    """IEC 61966-2-1, from memory."""
    return np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)


def relative_error(curve, expected):
    """Worst relative error where light is over a ten-thousandth of full."""
    shown = expected > 1e-4
    return np.max(np.abs(curve[shown] / expected[shown] - 1))


@pytest.mark.parametrize("levels", [256, 65536])
def test_no_profile_is_read_as_srgb_and_says_so(levels):
    curve, warnings = tone_curve(None, levels)
    assert warnings == (NoProfile(),)
    assert relative_error(curve, srgb_light(np.arange(levels) / (levels - 1))) < 1e-5


@pytest.mark.parametrize("levels", [256, 65536])
def test_srgb_profile(levels, outside_check):
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    curve, warnings = tone_curve(profile, levels)
    assert warnings == ()
    # 0.5 % is what is asked of reading; the colour library's tables keep to 0.02 %.
    off = relative_error(curve, srgb_light(np.arange(levels) / (levels - 1)))
    claim = f"largest relative error of light read through an sRGB profile, {levels} levels"
    outside_check(claim, "IEC 61966-2-1", 0, off, abs=1e-3, memory=True)


@pytest.mark.parametrize("levels", [256, 65536])
@pytest.mark.parametrize("gamma", [1.0, 1.8, 563 / 256])
def test_gamma_profiles(levels, gamma, outside_check):
    profile = bytes(imagecodecs.cms_profile("rgb", whitepoint=D65, primaries=WIDE, gamma=gamma))
    curve, warnings = tone_curve(profile, levels)
    assert warnings == ()
    assert curve[0] == 0
    assert curve[-1] == 1
    # ICC stores a gamma in steps of 1/65536 or 1/256; at light 1e-4 the latter is worth 1 %.
    coded = np.arange(levels) / (levels - 1)
    claim = f"largest relative error of light read at gamma {gamma:.4g}, {levels} levels"
    outside_check(claim, "closed form", 0, relative_error(curve, coded**gamma), abs=5e-3)
    assert np.all(np.diff(curve) > 0)


@pytest.mark.parametrize("gamma", [1.0, 2.2])
def test_grey_profile(gamma):
    profile = bytes(imagecodecs.cms_profile("gray", whitepoint=D65, gamma=gamma))
    curve, warnings = tone_curve(profile, 65536)
    assert warnings == ()
    assert relative_error(curve, (np.arange(65536) / 65535) ** gamma) < 5e-3


@pytest.mark.parametrize("profile", [b"", b"no profile at all", bytes(3000)])
def test_a_broken_profile_is_read_as_srgb_and_says_so(profile):
    curve, warnings = tone_curve(profile, 256)
    assert warnings == (UnusableProfile(),)
    assert relative_error(curve, srgb_light(np.arange(256) / 255)) < 1e-5
