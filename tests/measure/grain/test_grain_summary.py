"""One grain figure over several tints."""

from __future__ import annotations

import numpy as np
import pytest

from dotloupe.errors import RegionError
from dotloupe.measure.grain.over_tints import summarise_grain
from dotloupe.measure.grain.tint_grain import grain


def tint(seed, deviation, viewing_distance_mm=350):
    field = 0.5 + deviation * np.random.default_rng(seed).standard_normal((128, 128))
    return grain(field, 50, viewing_distance_mm=viewing_distance_mm)


def test_summary_is_the_root_mean_square_and_its_interval_is_narrower_than_the_tints():
    tints = {f"grey {i}": tint(i, 0.02) for i in range(6)}
    summary = summarise_grain(tints)
    seen = [g.visual_graininess for g in tints.values()]
    assert summary.value == pytest.approx(np.sqrt(np.mean(np.square(seen))))
    assert summary.unit == "L* rms"
    assert summary.largest == list(tints)[int(np.argmax(seen))]
    low, high = summary.interval
    assert low < summary.value < high
    # six independent tints alike: the interval shrinks by about the root of six
    widths = [np.diff(g.visual_graininess_interval)[0] for g in tints.values()]
    assert (high - low) == pytest.approx(np.mean(widths) / np.sqrt(6), rel=0.25)
    assert summary.tints == tuple(tints)
    assert summary.viewing_distance_mm == 350
    # the tints share their cautions: each is said once
    assert len(set(summary.cautions)) == len(summary.cautions) >= 3


def test_summary_refuses_nothing_and_mixed_distances():
    with pytest.raises(RegionError, match="no tint"):
        summarise_grain({})
    with pytest.raises(RegionError, match="different viewing distances"):
        summarise_grain({"a": tint(1, 0.02), "b": tint(2, 0.02, viewing_distance_mm=500)})
