"""How often a difference is claimed where none is, and found where one is, over many designs.

``python tests/compare/pairs_benchmark.py`` prints the table. The rule of `compare_pairs` is written
here a second time, for thousands of families at once; a test holds the two against each other.
"""

from itertools import combinations

import numpy as np
from scipy import stats

from dotloupe.compare.pairs import FEW_PRINTS, FEWEST_FOR_ONE_SPREAD, GUARD, SPREADS_AGREE
from dotloupe.compare.studentized import range_quantile

TRIALS = 20_000
RATIOS = (1, 2, 3, 4)
EVEN = tuple((n,) * k for k in (2, 3, 5) for n in (2, 3, 4, 5))
UNEVEN = (
    (2, 3),
    (2, 5),
    (2, 8),
    (3, 4),
    (3, 5),
    (3, 8),
    (4, 6),
    (2, 5, 5),
    (5, 2, 2),
    (3, 5, 5),
    (2, 3, 4),
    (3, 3, 3, 5, 5),
)
"""The first setting has the spread that differs, in the table's rows from 1/4 to 4 times."""


def drawn(prints, spreads, trials, seed):
    """Means and variances of settings without a true difference, each (trials, settings)."""
    rng = np.random.default_rng(seed)
    n, sd = np.array(prints), np.array(spreads, dtype=float)
    means = rng.standard_normal((trials, n.size)) * sd / np.sqrt(n)
    chi = np.stack([rng.chisquare(k - 1, trials) / (k - 1) for k in n], axis=1)
    return means, sd**2 * chi


def half_widths(prints, variances):
    """Smallest difference claimed of each pair, (pairs, trials)."""
    n = np.array(prints)
    groups, own = n.size, n - 1
    degrees = float(own.sum())
    pooled = (variances * own).sum(axis=1) / degrees
    one_spread = np.zeros(len(variances), dtype=bool)
    if groups > 2 and len(set(prints)) == 1 and prints[0] >= FEWEST_FOR_ONE_SPREAD:
        statistic = degrees * np.log(pooled) - (own * np.log(variances)).sum(axis=1)
        correction = 1 + ((1 / own).sum() - 1 / degrees) / (3 * (groups - 1))
        one_spread = stats.chi2.sf(statistic / correction, groups - 1) > SPREADS_AGREE
    grid = 1 / np.linspace(1 / (2 * own.max()), 1 / own.min(), 200)
    by_degrees = np.array([range_quantile(groups, float(d)) for d in grid])
    halves = []
    for i, j in combinations(range(groups), 2):
        a, b = variances[:, i] / n[i], variances[:, j] / n[j]
        welch = (a + b) ** 2 / (a**2 / own[i] + b**2 / own[j])
        mixed = np.interp(1 / welch, 1 / grid, by_degrees) ** 2 * (a + b)
        careful = sum(
            part * range_quantile(groups, float(own[k])) ** 2 for part, k in ((a, i), (b, j))
        )
        fewer, more = sorted((prints[i], prints[j]))
        even = GUARD * min(1, FEW_PRINTS / more) if groups == 2 else 0
        share = 0 if more == 2 else 1 - fewer / more * (1 - even)
        separate = np.sqrt(((1 - share) * mixed + share * careful) / 2)
        tukey = range_quantile(groups, degrees) * np.sqrt(pooled * (1 / n[i] + 1 / n[j]) / 2)
        halves.append(np.where(one_spread, tukey, np.maximum(tukey, separate)))
    return np.array(halves)


def claimed(prints, spreads, trials=TRIALS, seed=0):
    """Share of families in which any pair is told apart where none differs."""
    means, variances = drawn(prints, spreads, trials, seed)
    pairs = list(combinations(range(len(prints)), 2))
    apart = np.array([np.abs(means[:, i] - means[:, j]) for i, j in pairs])
    return float(np.mean(np.any(apart > half_widths(prints, variances), axis=0)))


def found(prints, spreads, trials=TRIALS, seed=1):
    """Share in which the first two settings are told apart, three standard errors away."""
    means, variances = drawn(prints, spreads, trials, seed)
    true = 3 * np.sqrt(spreads[0] ** 2 / prints[0] + spreads[1] ** 2 / prints[1])
    return float(np.mean(means[:, 0] + true - means[:, 1] > half_widths(prints, variances)[0]))


def spreads_of(prints, ratio):
    """The first setting's spread over that of all others."""
    return (float(ratio), *([1.0] * (len(prints) - 1)))


def table():
    """Lines of the table, and the largest share claimed."""
    lines, worst = [], 0.0
    for prints in (*EVEN, *UNEVEN):
        ratios = RATIOS if prints in EVEN else (*(1 / r for r in RATIOS[:0:-1]), *RATIOS)
        shares = [claimed(prints, spreads_of(prints, r)) for r in ratios]
        power = found(prints, spreads_of(prints, 1))
        worst = max(worst, *shares)
        cells = " ".join(f"{100 * s:5.2f}" for s in shares)
        first, last = f"{ratios[0]:.2g}", f"{ratios[-1]:g}"
        lines.append(
            f"prints {', '.join(map(str, prints)):14} claimed, spread of the first {first} to "
            f"{last} times: {cells} %; three standard errors found {100 * power:4.1f} %"
        )
    return lines, worst


if __name__ == "__main__":
    rows, largest = table()
    print("\n".join(rows))
    print(f"largest share claimed: {100 * largest:.2f} %")
