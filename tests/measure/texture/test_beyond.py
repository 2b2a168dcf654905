"""What a print shows that the picture does not: halo behind a known transfer, planted noise."""

import numpy as np
import pytest
from scipy.stats import norm

from dotloupe.measure.texture import transfer
from dotloupe.measure.texture.edge_behind import halo
from dotloupe.measure.texture.known_texture import DirectionTransfer

FREQUENCY = np.linspace(0.5, 12, 40)
SIGMA_MM = 0.05


def sharpened(amount, radius_mm=0.06, whole=0.7):
    """Transfer of a Gaussian blur and an unsharp mask, known to 2 %."""
    f = FREQUENCY
    mask = 1 + amount * (1 - np.exp(-2 * (np.pi * radius_mm * f) ** 2))
    gain = whole * np.exp(-2 * (np.pi * SIGMA_MM * f) ** 2) * mask
    known = dict.fromkeys(DirectionTransfer.__dataclass_fields__)
    known |= {"frequency": f, "transfer": gain, "coherence": np.full(f.size, 0.9)}
    known |= {"transfer_low": 0.98 * gain, "transfer_high": 1.02 * gain}
    return DirectionTransfer(**known)


@pytest.mark.parametrize("amount", [0.5, 1.0, 2.0])
def test_halo_of_an_unsharp_mask(amount, outside_check):
    """Phi(x/g) + A (Phi(x/g) - Phi(x/h)), h the Gaussian g and the radius in square sum.

    Within a tenth: the value at zero frequency is found from rings that rise along a curve.
    """
    found = halo(sharpened(amount))
    x = np.linspace(0, 0.6, 6001)
    wide = np.hypot(SIGMA_MM, 0.06)
    edge = norm.cdf(x / SIGMA_MM) + amount * (norm.cdf(x / SIGMA_MM) - norm.cdf(x / wide))
    outside_check(
        f"halo of a Gaussian edge under an unsharp mask of {100 * amount:g} %",
        "closed form of normal integrals (SciPy)",
        edge.max() - 1,
        found.share,
        rel=0.1,
    )
    low, high = found.interval
    assert low <= edge.max() - 1 <= high


def test_a_blur_has_no_halo():
    assert halo(sharpened(0.0)).share < 0.003


def test_a_picture_that_holds_too_little_says_nothing():
    soft = sharpened(0.0)
    known = {**soft.__dict__, "coherence": np.where(FREQUENCY < 1.5, 0.9, 0.0)}
    assert halo(DirectionTransfer(**known)) is None


def test_unrelated_structure_is_the_noise_that_was_planted(outside_check):
    """White noise has in a sector of 30 degrees, both ways, up to radius r its area pi r^2/6."""
    rng = np.random.default_rng(11)
    sent = rng.standard_normal((512, 512)) * 0.1 + 0.5
    planted = 0.05
    noisy = 0.8 * sent + planted * rng.standard_normal(sent.shape)
    found = transfer(sent, noisy, 4.0)
    end = found.x.frequency[-1] / 4.0 * 1.03
    for axis in ("x", "y"):
        direction = getattr(found, axis)
        outside_check(
            f"rms of planted white noise about the axis {axis}, where nothing else departs",
            "area of a sector (derived)",
            planted * np.sqrt(np.pi * end**2 / 6),
            direction.unrelated,
            rel=0.05,
        )
        half_width = direction.unrelated_uncertainty.half_width
        assert 0 < half_width < 0.1 * direction.unrelated
    clean = transfer(sent, 0.8 * sent, 4.0)
    assert clean.x.unrelated < 0.02 * found.x.unrelated
