"""Several edges of one direction, in agreement and not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr

from dotloupe.errors import RegionError
from dotloupe.measure.edge.cautions import EdgesDisagree
from dotloupe.measure.edge.combined import combine_edges
from dotloupe.measure.edge.slanted import slanted_edge

ROW, COLUMN = np.mgrid[:100, :100] - 49.5
TRUTH = 100.0 * 0.18739


def measured(sigma, seed, *, transpose=False, noise=0.006):
    d = COLUMN * np.cos(np.radians(5.0)) - ROW * np.sin(np.radians(5.0))
    chance = np.random.default_rng(seed).standard_normal(d.shape)
    region = 0.2 + 0.6 * ndtr(d / sigma) + noise * chance
    return slanted_edge(region.T if transpose else region, 100.0)


def test_edges_that_agree_narrow_the_interval():
    edges = [measured(2.0, seed) for seed in range(4)]
    both = combine_edges(edges)
    assert both.apart == ()
    assert both.mtf50_interval[0] <= TRUTH / 2.0 <= both.mtf50_interval[1]
    single = np.mean([np.log(e.mtf50_interval[1] / e.mtf50_interval[0]) for e in edges])
    width = np.log(both.mtf50_interval[1] / both.mtf50_interval[0])
    # Four edges: half the width, with the edges' own scatter in it up to twice that.
    assert 0.3 * single < width < single
    assert both.mtf[0] == pytest.approx(1.0)
    assert np.all(both.mtf_low <= both.mtf)
    assert both.camera_included


def test_the_error_is_what_the_interval_was_made_of():
    both = combine_edges([measured(2.0, seed) for seed in range(4)])
    made_of = both.mtf50_uncertainty
    assert made_of.degrees >= 8
    width = np.log(both.mtf50_interval[1] / both.mtf50_interval[0])
    assert made_of.half_width / both.mtf50 == pytest.approx(width / 2, rel=1e-9)


def test_one_edge_is_itself():
    edge = measured(2.0, 1)
    alone = combine_edges([edge])
    assert alone.mtf50 == pytest.approx(edge.mtf50)
    assert alone.mtf50_interval == pytest.approx(edge.mtf50_interval)
    assert alone.mtf_high == pytest.approx(edge.mtf_high, abs=1e-8)


def test_an_edge_that_disagrees_is_shown_and_not_averaged():
    both = combine_edges([measured(2.0, 1), measured(3.0, 2), measured(2.0, 3)])
    assert both.apart == (1,)
    assert len(both.edges) == 3
    assert both.mtf50 == pytest.approx(TRUTH / 2.0, rel=0.02)
    assert both.cautions[0].numbers == (2,)


def test_no_majority_no_number():
    both = combine_edges([measured(2.0, 1), measured(3.0, 2)])
    assert np.isnan(both.mtf50)
    assert both.mtf50_uncertainty is None
    assert both.apart == (0, 1)
    assert both.mtf50_interval[0] < TRUTH / 3.0 * 1.02
    assert both.mtf50_interval[1] > TRUTH / 2.0 * 0.98
    assert both.cautions[0] == EdgesDisagree(tuple(edge.mtf50 for edge in both.edges))


def test_small_real_differences_widen_the_interval():
    edges = [measured(s, i, noise=0.001) for i, s in enumerate((2.0, 2.03, 1.98, 2.04))]
    both = combine_edges(edges)
    assert both.apart == ()
    inner = max(np.log(e.mtf50_interval[1] / e.mtf50_interval[0]) for e in edges)
    assert np.log(both.mtf50_interval[1] / both.mtf50_interval[0]) > 2 * inner


def test_edges_known_far_better_than_they_agree_have_students_interval():
    """Without any error of their own, n values have mean +- t(n - 1) s / sqrt(n), in logarithms."""
    edge, values = measured(2.0, 1), 9.0 * np.exp([0.0, 0.012, -0.02, 0.015])
    edges = [replace(edge, mtf50=v, mtf50_interval=(v * 0.99999, v * 1.00001)) for v in values]
    both = combine_edges(edges)
    assert both.apart == ()
    logs = np.log(values)
    expected = stats.t.interval(0.95, 3, loc=logs.mean(), scale=stats.sem(logs))
    assert both.mtf50 == pytest.approx(np.exp(logs.mean()), rel=1e-6)
    assert np.log(both.mtf50_interval) == pytest.approx(expected, rel=1e-3)


def test_what_cannot_be_combined():
    with pytest.raises(RegionError, match="at least one"):
        combine_edges([])
    with pytest.raises(RegionError, match="never averaged"):
        combine_edges([measured(2.0, 1), measured(2.0, 2, transpose=True)])
