"""The studentised range against SciPy's and against printed tables."""

import numpy as np
import pytest
from scipy.stats import studentized_range

from dotloupe.compare.studentized import range_quantile, range_survival

# printed tables of the studentised range, upper 5 % points (from memory; three decimals)
PRINTED = {
    (2, 10): 3.151,
    (3, 5): 4.602,
    (3, 12): 3.773,
    (4, 12): 4.199,
    (4, 16): 4.046,
    (5, 20): 4.232,
    (6, 24): 4.373,
    (10, 60): 4.646,
    (3, np.inf): 3.314,
    (10, np.inf): 4.474,
}


@pytest.mark.parametrize(("groups", "degrees"), PRINTED)
def test_quantile_is_the_printed_table_value(groups, degrees, outside_check):
    outside_check(
        f"5 % point of the studentised range, {groups} groups, {degrees:g} degrees of freedom",
        "printed tables, three decimals",
        PRINTED[groups, degrees],
        range_quantile(groups, degrees),
        abs=6e-4,
        memory=True,
    )


@pytest.mark.parametrize("groups", [2, 5, 12])
@pytest.mark.parametrize("degrees", [1, 1.3, 4, 60])
def test_survival_is_scipys_own(groups, degrees, outside_check):
    outside_check(
        f"chance of a studentised range over 3 and 12, {groups} groups, {degrees:g} degrees",
        "SciPy, studentized_range",
        [studentized_range.sf(q, groups, degrees) for q in (3, 12)],
        [range_survival(q, groups, degrees) for q in (3, 12)],
        abs=1e-6,
    )


def test_quantile_inverts_survival():
    for groups, degrees in ((3, 1.7), (5, 7.3), (8, np.inf)):
        q = range_quantile(groups, degrees, 0.05)
        assert range_survival(q, groups, degrees) == pytest.approx(0.05, abs=1e-5)


def test_impossible_ranges():
    assert range_survival(0.0, 3, 5) == 1.0
    assert np.isnan(range_survival(float("nan"), 3, 5))
