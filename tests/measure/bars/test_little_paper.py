"""Groups of bars in little paper, of known and of unknown number, and bars that are short.

All pictures here are drawn. The study: pytest -m slow tests/measure/bars/test_little_paper.py
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from dotloupe.errors import RegionError
from dotloupe.measure.bars.line_pairs import line_pairs

LIGHT, DARK = 1.0, 0.2
TABLE = "Bars in little paper"


def group(bars, period, paper, soft, *, length=10.0, noise=0.0, tilt_deg=0.0, seed=0):
    """Bars on paper; paper (left, right), softness and length in periods, period in pixels."""
    width = round((bars - 0.5 + sum(paper)) * period)
    height = round((length + 1.6) * period)
    y = np.arange(height)[:, None] - (height - 1) / 2
    x = np.arange(width) - (paper[0] * period - 0.5) - np.tan(np.radians(tilt_deg)) * y
    sigma = soft * period
    ink = sum(
        ndtr((x - k * period) / sigma) - ndtr((x - (k + 0.5) * period) / sigma) for k in range(bars)
    )
    half = 0.5 * length * period
    ink = ink * (ndtr((y + half) / sigma) - ndtr((y - half) / sigma))
    rng = np.random.default_rng(seed)
    return LIGHT - (LIGHT - DARK) * ink + noise * rng.standard_normal((height, width))


def true_contrast(soft):
    """Of an endless square wave under a Gaussian blur, by its series."""
    k = np.arange(1, 2001, 2)
    passed = np.exp(-2 * (np.pi * soft * k) ** 2)
    swing = 4 / np.pi * np.sum((-1.0) ** ((k - 1) // 2) * passed / k)
    return (LIGHT - DARK) / (LIGHT + DARK) * swing


def study(count, seed, *, known):
    """Errors of contrast and of frequency, relative, and how many were refused."""
    rng = np.random.default_rng(seed)
    errors, refused = [], 0
    for i in range(count):
        bars, period, soft = int(rng.integers(3, 8)), rng.uniform(6, 30), rng.uniform(0.05, 0.25)
        soft = max(soft, 0.6 / period)  # values at pixels' centres do not draw sharper bars
        paper = tuple(rng.uniform(0.5, 1.0, 2))
        picture = group(
            bars,
            period,
            paper,
            soft,
            length=rng.choice([2.5, 10.0]),
            noise=rng.uniform(0, 0.02),
            tilt_deg=rng.uniform(-1.5, 1.5),
            seed=i,
        )
        asked = (1 + rng.uniform(-0.005, 0.005)) / period
        try:
            found = line_pairs(picture, 1.0, asked, bars_drawn=bars if known else None)
        except RegionError:
            refused += 1
            continue
        assert found.bars_drawn == bars
        assert found.resolved
        errors.append(
            (found.contrast / true_contrast(soft) - 1, found.frequency_found * period - 1)
        )
    return np.abs(errors).max(axis=0), refused


def report(count, seed, known, table_row):
    (contrast, frequency), refused = study(count, seed, known=known)
    table_row(
        TABLE,
        f"number {'known' if known else 'unknown'}, {count} groups: {refused} refused, contrast "
        f"within {100 * contrast:.2f} %, frequency within {100 * frequency:.2f} %",
    )
    assert contrast < 0.02
    assert frequency < 0.003
    assert refused < 0.2 * count


@pytest.mark.parametrize("known", [False, True])
def test_some_groups_in_little_paper(known, table_row):
    report(30, 6, known, table_row)


@pytest.mark.slow
@pytest.mark.parametrize("known", [False, True])
def test_groups_in_little_paper(known, table_row):
    report(400, 5, known, table_row)


@pytest.mark.parametrize("bars", [3, 4, 5])
def test_paper_beside_a_group_is_no_bar_without_contrast(bars):
    """Up to 16 % of contrast and 2.5 % of frequency were lost to it."""
    found = line_pairs(group(bars, 20.0, (0.7, 0.9), 0.1, noise=0.005), 1.0, 1 / 20)
    assert found.bars_found == found.bars_drawn == bars
    assert found.contrast == pytest.approx(true_contrast(0.1), rel=0.02)
    assert found.frequency_found == pytest.approx(1 / 20, rel=0.003)


def test_blur_that_reaches_over_the_paper_is_refused():
    for known in (None, 4):
        with pytest.raises(RegionError, match=r"reaches the ends.*larger region"):
            line_pairs(group(4, 25.0, (0.5, 0.5), 0.25), 1.0, 1 / 25, bars_drawn=known)


def test_bars_that_end_on_one_side_alone_are_refused():
    picture = group(7, 20.0, (0.9, 0.9), 0.1, noise=0.005)[:, :-45]
    with pytest.raises(RegionError, match="on one side"):
        line_pairs(picture, 1.0, 1 / 20)


def test_bars_from_side_to_side_stay_so_wherever_they_are_cut():
    for start in range(30, 50, 3):
        picture = group(12, 20.0, (0.9, 0.9), 0.15, noise=0.005)[:, start : start + 150]
        found = line_pairs(picture, 1.0, 1 / 20)
        assert found.phase_deg is None
        assert found.contrast == pytest.approx(true_contrast(0.15), rel=0.02)


@pytest.mark.parametrize("bars", [2, 4, 6])
def test_an_even_number_of_bars_is_in_phase(bars):
    """A space lies in the middle of such a group."""
    picture = group(bars, 20.0, (1.5, 1.5), 0.1)
    found = line_pairs(picture, 1.0, 1 / 20, bars_drawn=bars)
    assert found.phase_deg == pytest.approx(0.0, abs=1.0)
    assert found.resolved
    drowned = group(bars, 20.0, (1.5, 1.5), 0.35, noise=0.3, length=3.0)
    # nothing of the bars is left to see: read where they were drawn, as grain around their own
    reading = line_pairs(drowned, 1.0, 1 / 20, bars_drawn=bars)
    assert reading.contrast == pytest.approx(true_contrast(0.35), abs=0.15)


def test_short_bars_are_cleared_by_less():
    """Of 20 rows 4.1 of blur at each end leave too few for the full clearance."""
    picture = group(3, 8.0, (1.2, 1.2), 0.2, length=2.0, noise=0.002)
    found = line_pairs(picture, 1.0, 1 / 8, bars_drawn=3)
    assert found.contrast == pytest.approx(true_contrast(0.2), rel=0.02)


def test_bars_too_short_are_told_what_helps():
    with pytest.raises(RegionError, match=r"too short.*photograph closer"):
        line_pairs(group(3, 8.0, (1.2, 1.2), 0.2, length=1.2), 1.0, 1 / 8, bars_drawn=3)
