"""Versions of a picture of 600 ppi, its half and quarter enlarged, against the picture itself.

Every version is printed alike here, blurred and with grain added (simulated).
"""

import sys
from pathlib import Path

import numpy as np
import pytest
from scipy import ndimage

sys.path.insert(0, str(Path(__file__).parent))

from framed import single
from test_resampling import CLOSED

from dotloupe.measure.texture import halo, transfer
from dotloupe.prepare.resampling import resampled

PER_MM = 600 / 25.4
BLUR_MM, GRAIN = 0.02, 0.01
ENLARGERS = ("nearest", "area", "bilinear", "bicubic", "lanczos")
KNOWN = {"nearest": np.sinc, **{name: found[0] for name, found in CLOSED.items()}}
BY_TRANSFER = ("bilinear", "nearest", "bicubic", "lanczos")
"""The least contrast first, by each kernel's transfer at a quarter of the small raster."""


@pytest.fixture(scope="module")
def master():
    return single("gravel").light()


def enlarged(light, factor, method):
    """Reduced by area, and enlarged again."""
    small = resampled(light, tuple(n // factor for n in light.shape), "area")
    if method == "nearest":
        return small.repeat(factor, axis=0).repeat(factor, axis=1)
    return resampled(small, light.shape, method)


def compared(version, master):
    """Comparison with the master along x, of the version printed."""
    printed = ndimage.gaussian_filter(version, BLUR_MM * PER_MM)
    printed = printed + np.random.default_rng(4).normal(0, GRAIN, printed.shape)
    return transfer(
        master, printed, PER_MM, coherence_level=0.5, block_mm=2.0, highest=0.48 * PER_MM
    ).x


def response_at(direction, frequency):
    return float(np.interp(frequency, direction.frequency, direction.transfer))


@pytest.mark.parametrize("factor", [2, 4])
def test_response_and_kept_detail_come_in_the_order_of_the_known_transfer(
    master, factor, outside_check
):
    quarter = PER_MM / factor / 4
    by_method = {m: compared(enlarged(master, factor, m), master) for m in ENLARGERS}
    response = {m: response_at(d, quarter) for m, d in by_method.items()}
    known = {m: float(KNOWN[m](0.25) / KNOWN[m](0.0)) for m in BY_TRANSFER}
    for contrast in (known, response):
        assert sorted(BY_TRANSFER, key=contrast.__getitem__) == list(BY_TRANSFER)
    blur = np.exp(-2 * (np.pi * BLUR_MM * quarter) ** 2)
    if factor == 4:
        # at half the picture's pixels are too coarse for kernels of a continuous place
        outside_check(
            "response of a picture's quarter, enlarged, at a quarter of its raster",
            "area and kernel, closed forms",
            [blur * np.sinc(0.25) * known[m] for m in BY_TRANSFER],
            [response[m] for m in BY_TRANSFER],
            rel=0.03,
        )
    # by whole factors the area of a small pixel is that pixel again
    assert response["area"] == pytest.approx(response["nearest"], rel=1e-3)
    whole = compared(master, master)
    assert all(d.kept < whole.kept for d in by_method.values())


def test_invented_texture_is_named(master):
    plain = enlarged(master, 2, "bicubic")
    noise = np.random.default_rng(9).standard_normal(master.shape)
    texture = ndimage.gaussian_filter(noise, 0.7) - ndimage.gaussian_filter(noise, 1.4)
    texture *= 0.05 / texture.std()
    honest, invented = (compared(v, master) for v in (plain, plain + texture))
    apart = invented.unrelated - honest.unrelated
    assert apart > 3 * invented.unrelated_uncertainty.half_width
    # what was invented is no detail of the picture, and covers some of it
    assert invented.kept <= honest.kept


def test_halo_comes_in_the_order_of_the_sharpening(master):
    found = []
    for amount in (0.0, 0.7, 1.5, 3.0):
        sharpened = master + amount * (master - ndimage.gaussian_filter(master, 2.0))
        found.append(halo(compared(sharpened, master)))
    shares = [h.share for h in found]
    assert shares == sorted(shares)
    assert found[1].share < found[3].interval[0]
