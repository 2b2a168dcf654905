"""Resampling of gratings against the closed-form transfer of each kernel, derived here."""

import numpy as np
import pytest
from scipy.special import sici

from dotloupe.prepare.resampling import RESIZES, resampled

CYCLES = (13, 29, 47, 71, 101)
"""Of a grating over the width; primes, so that all phases of the rasters occur."""
SIZE = 509
SIZES = {"larger": 1279, "a little larger": 613, "smaller": 211}


def cubic(f):
    """Keys' cubic convolution, a = -1/2: R. G. Keys, IEEE Trans. ASSP 29 (1981) 1153."""
    x = np.linspace(0, 2, 200001)
    near = 1.5 * x**3 - 2.5 * x**2 + 1
    far = -0.5 * x**3 + 2.5 * x**2 - 4 * x + 2
    return 2 * np.trapezoid(np.where(x < 1, near, far) * np.cos(2 * np.pi * f * x), x)


def lanczos(f, lobes=3):
    """sinc(x) sinc(x/a) over (-a, a): its sines as cosines over x^2, integrated by parts."""

    def part(g):
        """Integral of (1 - cos(2 pi g x)) / x^2 over (0, a)."""
        turn = 2 * np.pi * abs(g)
        return turn * sici(turn * lobes)[0] - (1 - np.cos(turn * lobes)) / lobes

    plus, minus = 0.5 + 0.5 / lobes, 0.5 - 0.5 / lobes
    total = part(f + plus) + part(f - plus) - part(f + minus) - part(f - minus)
    return lobes / np.pi**2 * total / 2


CLOSED = {
    "area": (np.sinc, "integral of a box"),
    "bilinear": (lambda f: np.sinc(f) ** 2, "integral of a triangle"),
    "bicubic": (cubic, "Keys 1981, integrated; its cubic from memory"),
    "lanczos": (lanczos, "integral by the sine integral (SciPy)"),
}


def contrast(line, cycles):
    """Amplitude of a grating by least squares, away from the borders."""
    x = (np.arange(line.size) + 0.5) / line.size
    inner = (x > 0.1) & (x < 0.9)
    terms = np.stack([np.cos(2 * np.pi * cycles * x), np.sin(2 * np.pi * cycles * x), 0 * x + 1])
    found = np.linalg.lstsq(terms[:, inner].T, line[inner], rcond=None)[0]
    return float(np.hypot(*found[:2]))


@pytest.mark.parametrize("new", SIZES)
@pytest.mark.parametrize("method", RESIZES)
def test_gratings_keep_what_the_kernel_lets_through(method, new, outside_check):
    """A kernel is as wide as a pixel of the coarser raster, its weights made to sum to 1.

    Area sampling takes old pixels as even squares, and so convolves by an old pixel and a new one.
    """
    size = SIZES[new]
    x = (np.arange(SIZE) + 0.5) / SIZE
    kept, true = [], []
    for cycles in CYCLES:
        if cycles > 0.45 * min(size, SIZE):
            continue
        light = 0.5 + 0.3 * np.cos(2 * np.pi * cycles * x)[None] * np.ones((16, 1))
        for axis in (1, 0):
            along = light if axis == 1 else light.T
            shape = (16, size) if axis == 1 else (size, 16)
            out = resampled(along, shape, method)
            kept.append(contrast(out.mean(axis=1 - axis), cycles) / 0.3)
            transfer = CLOSED[method][0]
            if method == "area":
                true.append(transfer(cycles / SIZE) * transfer(cycles / size))
            else:
                true.append(transfer(cycles / min(size, SIZE)) / transfer(0.0))
    claim = f"contrast of gratings resampled by {method}, {SIZE} to {size} pixels"
    outside_check(claim, CLOSED[method][1], true, kept, rel=0.01, memory=method == "bicubic")


def test_the_same_size_is_left_alone():
    light = np.random.default_rng(0).random((40, 50)).astype(np.float32)
    assert np.array_equal(resampled(light, (40, 50), "lanczos"), light)
