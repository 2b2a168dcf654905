"""The limit of a series of bar groups: interpolated, false resolution and the sent file respected.

The contrast curve of an endless square wave under a Gaussian blur is a closed form (derived).
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.optimize import brentq

from dotloupe.errors import RegionError
from dotloupe.measure.bars.limit import _drawn, resolved_limit, sent_nyquist
from dotloupe.measure.readings import bars_reading
from dotloupe.measure.uncertainty import Uncertainty, student_quantile

FREQUENCIES = 2 ** (np.arange(6, 27) / 6)
BLUR_MM = 0.02
# references.md, derived: 240 to 1200 ppi.
NYQUIST = {240: 4.72, 300: 5.91, 360: 7.09, 450: 8.86, 600: 11.81, 720: 14.17, 1200: 23.62}


def contrast_at(frequency):
    k = np.arange(1, 400, 2)
    sign = (-1.0) ** ((k - 1) // 2)
    passed = np.exp(-2 * (np.pi * BLUR_MM * np.multiply.outer(frequency, k)) ** 2)
    return (4 / np.pi * sign / k * passed).sum(axis=-1)


def group(frequency, contrast, half=0.005, threshold=0.10, bars_match=True):
    return SimpleNamespace(
        frequency=float(frequency),
        contrast=float(contrast),
        contrast_interval=(contrast - half, contrast + half),
        contrast_uncertainty=Uncertainty(half / student_quantile(23), 23),
        threshold=threshold,
        bars_match=bars_match,
        resolved=contrast > threshold and bars_match,
    )


def series(refused=(), half=0.005):
    return [
        group(f, contrast_at(f), half, bars_match=i not in refused)
        for i, f in enumerate(FREQUENCIES)
    ]


def test_limit_is_where_the_contrast_curve_crosses_the_threshold(outside_check):
    truth = brentq(lambda f: contrast_at(f) - 0.10, 2, 40)
    found = resolved_limit(series())
    # Groups lie 12 % apart; the curve bends by less than 0.5 % of frequency between them.
    claim = "frequency at which bars under a Gaussian of 20 um keep a tenth of their contrast"
    outside_check(claim, "closed form, series of a square wave", truth, found.limit, rel=0.005)
    assert found.interval[0] < truth < found.interval[1]
    assert found.ended_by == "contrast"


def test_order_of_the_groups_does_not_matter():
    assert resolved_limit(series()[::-1]).limit == resolved_limit(series()).limit


def test_a_group_above_a_refused_one_never_counts():
    found = resolved_limit(series(refused=(9,)))
    assert found.limit == pytest.approx(FREQUENCIES[8])
    assert found.ended_by == "false resolution"
    assert found.interval[1] >= FREQUENCIES[9]
    assert found.counted.sum() == 9


def test_interval_covers_the_limit_of_noisy_series():
    """200 series with contrast errors of 0.01: 92 % at least hold the true crossing."""
    rng = np.random.default_rng(5)
    truth = brentq(lambda f: contrast_at(f) - 0.10, 2, 40)
    held = 0
    for _ in range(200):
        noisy = [
            group(f, contrast_at(f) + 0.01 * rng.standard_normal(), 0.0196) for f in FREQUENCIES
        ]
        low, high = resolved_limit(noisy).interval
        held += low <= truth <= high
    assert held >= 184


@pytest.mark.parametrize("ppi", NYQUIST)
def test_groups_above_the_nyquist_frequency_of_the_file_are_reported(ppi, outside_check):
    claim = f"highest frequency that a file of {ppi} ppi holds, cycles/mm"
    outside_check(claim, "sampling theorem", NYQUIST[ppi], sent_nyquist(ppi), abs=0.006)
    found = resolved_limit(series(), sent_ppi=ppi)
    assert found.above_nyquist == tuple(f for f in FREQUENCIES if f > NYQUIST[ppi])
    assert found.limit <= sent_nyquist(ppi)


def test_a_file_too_coarse_for_the_print_ends_the_series():
    found = resolved_limit(series(), sent_ppi=360)
    assert found.ended_by == "sent file"
    assert found.limit == pytest.approx(FREQUENCIES[FREQUENCIES < 7.09][-1])
    assert found.interval[1] == pytest.approx(7.09, abs=0.006)


def test_all_resolved_leaves_the_upper_end_open():
    found = resolved_limit(series()[:8])
    assert found.ended_by == "groups"
    assert found.limit == pytest.approx(FREQUENCIES[7])
    assert found.interval[1] == np.inf


def test_nothing_resolved_gives_no_limit():
    found = resolved_limit([group(f, 0.02) for f in FREQUENCIES])
    assert found.limit is None
    assert found.interval == (0.0, pytest.approx(FREQUENCIES[0]))
    assert found.ended_by == "nothing resolved"


@pytest.mark.parametrize("sent_ppi", [0.0, -300.0])
def test_a_file_has_some_pixels_an_inch(sent_ppi):
    with pytest.raises(RegionError) as caught:
        resolved_limit([group(4, 0.5), group(5, 0.4)], sent_ppi=sent_ppi)
    assert str(caught.value) == (
        f"resolved limit: sent ppi must be a positive number, not {sent_ppi}."
    )


def test_one_group_is_no_reading():
    assert bars_reading(resolved_limit([group(4, 0.5)])) is None


def test_groups_that_do_not_belong_together_are_refused():
    with pytest.raises(RegionError, match="no group"):
        resolved_limit([])
    with pytest.raises(RegionError, match="one direction"):
        resolved_limit([group(4, 0.5), group(4, 0.4)])
    with pytest.raises(
        RegionError,
        match=r"^resolved limit: the groups were measured with differing thresholds\.$",
    ):
        resolved_limit([group(4, 0.5), group(5, 0.4, threshold=0.2)])


def test_contrasts_vary_as_their_own_intervals_say():
    """95 % of what is drawn lies within Student's interval, of the tails of seven degrees."""
    error = Uncertainty(0.02, 7)
    drawn = _drawn([error, error])
    assert np.mean(np.abs(drawn) < error.half_width) == pytest.approx(0.95, abs=0.01)
    # a normal error scaled to the same interval would leave 1 in 300 beyond 1.5 times it
    assert np.mean(np.abs(drawn) > 1.5 * error.half_width) == pytest.approx(0.0095, abs=0.003)
