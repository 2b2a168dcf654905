"""Control charts against handbooks, published run lengths and closed forms."""

from datetime import date, timedelta

import numpy as np
import pytest
from scipy import stats

from dotloupe.compare.history.control_chart import (
    MEMORY,
    Spread,
    departure,
    moving_range_sigma,
    print_spread,
    tail,
    visits_ratio,
    with_visits,
)
from dotloupe.compare.history.series import Visit

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, ten flow rates (from memory; the
# figures check themselves: mean 50.81, mean moving range 1.8778)
FLOW_RATES = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def visits(*groups):
    return [
        Visit(
            date(2026, 1, 5) + timedelta(days=30 * i),
            tuple(range(len(g))),
            len(g),
            float(np.mean(g)),
            float(np.sum((np.asarray(g) - np.mean(g)) ** 2)),
        )
        for i, g in enumerate(groups)
    ]


def test_individuals_chart_of_the_handbook(outside_check):
    assert np.mean(FLOW_RATES) == pytest.approx(50.81)
    assert np.abs(np.diff(FLOW_RATES)).mean() == pytest.approx(1.8778, abs=5e-5)
    sigma = moving_range_sigma(FLOW_RATES)
    # printed: centre 50.81, upper 55.8041, lower 45.8159, with 1.128 in three decimals
    for name, value, ours in (
        ("upper limit", 55.8041, 50.81 + 3 * sigma),
        ("lower limit", 45.8159, 50.81 - 3 * sigma),
    ):
        claim = f"{name} of the chart of ten flow rates"
        source = "NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2"
        outside_check(claim, source, value, ours, abs=2e-3, memory=True)


def test_moving_range_of_two_normal_values(outside_check):
    # tables of process control print d2 = 1.128 for two values
    rng = np.random.default_rng(1)
    sigma = moving_range_sigma(rng.normal(0, 1, 200_000))
    claim = "standard deviation from moving ranges of 200,000 normal values"
    outside_check(claim, "tables of process control, d2 = 1.128", 1.0, sigma, abs=0.01)


def run_length(shift, weight, width, cells=101):
    """Mean run length of a moving average with fixed limits, by Brook and Evans's Markov chain."""
    limit = width * np.sqrt(weight / (2 - weight))
    step = 2 * limit / cells
    centres = -limit + step * (np.arange(cells) + 0.5)
    ends = (centres[None, :] + step / 2 - (1 - weight) * centres[:, None]) / weight
    starts = (centres[None, :] - step / 2 - (1 - weight) * centres[:, None]) / weight
    stays = stats.norm.cdf(ends - shift) - stats.norm.cdf(starts - shift)
    lengths = np.linalg.solve(np.eye(cells) - stays, np.ones(cells))
    return lengths[cells // 2]


@pytest.mark.parametrize(
    ("shift", "published"), [(0.0, 500), (0.5, 71.2), (1.0, 14.3), (2.0, 3.5), (3.0, 2.0)]
)
def test_run_lengths_of_the_moving_average(shift, published, outside_check):
    """The weight used here, 0.4, with limits of 3.054 standard errors."""
    ours = run_length(shift, MEMORY, 3.054)
    claim = f"mean run length of a moving average of weight 0.4, shift of {shift:g}"
    source = "Lucas and Saccucci 1990, table 3"
    outside_check(claim, source, published, ours, rel=0.03, memory=True)


@pytest.mark.parametrize("grows", [True, False])
def test_moving_average_is_in_units_of_its_own_standard_error(grows):
    """Whether the baseline grows with every visit or is fixed, against the true spread."""
    rng, found = np.random.default_rng(2), []
    for _ in range(4000):
        every = visits(*rng.standard_normal((6, 3)))
        shown = departure(every, every[:-1] if grows else every[:2], Spread(1.0, 1e9))
        found.append((shown.visit, shown.average))
    # the standard error of a standard deviation of 4,000 values is 1.1 %
    assert np.std(found, axis=0) == pytest.approx([1, 1], abs=0.035)


def test_moving_average_of_recursive_residuals_is_that_of_the_published_chart():
    every = visits(*np.random.default_rng(5).standard_normal((5, 3)))
    average, squares = 0.0, 0.0
    for k in range(1, 5):
        step = departure(every[k : k + 1], every[:k], Spread(1.0, 1e9)).visit
        average = MEMORY * step + (1 - MEMORY) * average
        squares = MEMORY**2 + (1 - MEMORY) ** 2 * squares
    ours = departure(every, every[:-1], Spread(1.0, 1e9)).average
    assert ours == pytest.approx(average / np.sqrt(squares))


def test_spread_within_visits_is_pooled(outside_check):
    groups = ([1.0, 2.0, 4.0], [5.0, 5.5], [3.0])
    spread = print_spread(visits(*groups), 0.0)
    pooled = (2 * np.var(groups[0], ddof=1) + np.var(groups[1], ddof=1)) / 3
    outside_check("pooled variance within visits", "NumPy", pooled, spread.variance, rel=1e-12)
    assert spread.degrees == 3
    assert print_spread(visits(*groups), 99.0).variance == 99.0


def test_single_prints_take_the_spread_of_their_moving_range():
    single = visits(*([v] for v in FLOW_RATES))
    assert print_spread(single, 0.0).variance == pytest.approx((1.8778 / 1.1284) ** 2, rel=1e-3)
    assert print_spread(single[:2], 0.0) is None


def test_departure_of_the_second_visit_is_the_two_sample_t_test(outside_check):
    a, b = [1.0, 2.0, 4.0], [5.0, 5.5, 7.5]
    both = visits(a, b)
    found = departure(both, both[:1], print_spread(both, 0.0))
    test = stats.ttest_ind(b, a)
    outside_check("t of two visits", "SciPy, ttest_ind", test.statistic, found.visit, rel=1e-12)
    ours = tail(found.visit, found.degrees, 0)
    outside_check("chance of two visits", "SciPy, ttest_ind", test.pvalue, ours, rel=1e-9)
    assert found.average == pytest.approx(found.visit)


def test_ratio_of_visits_is_the_one_way_analysis_of_variance(outside_check):
    groups = ([1.0, 2.0, 4.0], [5.0, 5.5, 7.5], [3.0, 3.5, 5.0])
    ratio, degrees = visits_ratio(visits(*groups), print_spread(visits(*groups), 0.0))
    outside_check(
        "F of three visits", "SciPy, f_oneway", stats.f_oneway(*groups)[0], ratio, rel=1e-12
    )
    assert degrees == 2


def test_visits_that_differ_more_than_those_of_other_numbers_count_by_themselves():
    spread, baseline = Spread(1.0, 30.0), visits(*[[0.0, 1.0, 2.0]] * 5)
    assert with_visits(spread, baseline, (1.5, 4.0), 0.1).visits == 0.1
    assert with_visits(spread, baseline, (40.0, 4.0), 0.1).visits == pytest.approx(13.0)


def test_prints_that_never_vary_are_not_compared():
    same = visits([1.0, 1.0], [1.0, 1.0])
    assert departure(same, same[:1], print_spread(same, 0.0)) is None
