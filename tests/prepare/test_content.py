"""How fine the content of a part is: noise of known spectrum, and what is proposed."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy import ndimage

sys.path.insert(0, str(Path(__file__).parent))

from framed import master

from dotloupe.patch import Patch
from dotloupe.prepare.content import (
    GRAIN_POWER_MM2,
    LEAST_DETAIL,
    finest_detail,
    framed_content,
    richer_parts,
)

PER_MM = 24.0


def test_reach_of_noise_under_a_gaussian(outside_check):
    """White noise of deviation s at pitch p has power s^2 p^2; a blur takes exp(-(2 pi g f)^2)."""
    sigma_mm, over = 0.06, 40.0
    white = np.random.default_rng(3).standard_normal((600, 900))
    white *= np.sqrt(over * GRAIN_POWER_MM2) * PER_MM
    light = 0.5 + ndimage.gaussian_filter(white, [0, sigma_mm * PER_MM], mode="wrap")
    x, y = finest_detail(light, PER_MM)
    outside_check(
        "frequency where blurred white noise has the power of grain, cycles/mm",
        "closed form of a Gaussian's power spectrum",
        np.sqrt(np.log(over)) / (2 * np.pi * sigma_mm),
        x,
        rel=0.03,
    )
    assert y > 0.9 * PER_MM / 2


def test_an_even_part_is_named_and_a_richer_one_proposed():
    picture = master("immunohistochemistry")
    pixels = np.concatenate([np.full_like(picture.pixels, 128), picture.pixels], axis=1)
    picture = replace(picture, pixels=pixels)
    patch = Patch(600, 1, kind="picture", corner_mm=(2, 2))
    assert not framed_content(picture, patch).enough
    richer = richer_parts(picture, patch)
    assert richer
    assert all(c.corner_mm[0] > 15 and min(c.x, c.y) >= LEAST_DETAIL for c in richer)
    fine = framed_content(picture, replace(patch, corner_mm=richer[0].corner_mm))
    assert (fine.x, fine.y) == pytest.approx((richer[0].x, richer[0].y))
