"""How often the intervals of effects hold, how often an interaction is claimed that is not there.

    python tests/compare/effects/effects_benchmark.py [--count 2000]

Simulated designs of 2 x 2, 2 x 3 and 2 x 2 x 2, complete and with missing cells, spreads of cells
that differ up to 3 : 1, 1 to 5 prints a cell, alike in all cells or not. Half of them hold no
interaction. Power stands beside that of the usual analysis of variance: pooled error, no adjustment
for two levels, by SciPy's F distribution.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy import stats

from dotloupe.compare.effects.criterion_effects import criterion_effects
from dotloupe.compare.effects.design import Factor
from dotloupe.compare.prints import PrintValue, Sample
from dotloupe.number import CRITERIA

SHAPES = ((2, 2), (2, 3), (2, 2, 2))
NAMES = ("mode", "alignment", "paper")
LEVELS = ("a", "b", "c")
FAMILIES = ("effects", "simple_effects", "interactions")


@dataclass(frozen=True)
class Truth:
    """A design: cell means, cell spreads, prints of each cell, and whether choices interact."""

    means: dict
    spreads: dict
    prints: dict
    interacts: bool


def drawn(rng, shape, *, missing, unequal, prints):
    """One design; the largest spread is up to three times the smallest."""
    cells = list(product(*(LEVELS[:k] for k in shape)))
    interacts = bool(rng.integers(2))
    main = [rng.normal(0, 2, k) for k in shape]
    means = {c: 10 + sum(m[LEVELS.index(x)] for m, x in zip(main, c, strict=True)) for c in cells}
    if interacts:
        means = {c: m + rng.normal(0, 2) for c, m in means.items()}
    widths = np.exp(rng.uniform(0, np.log(rng.uniform(1, 3)), len(cells)))
    spreads = dict(zip(cells, widths, strict=True))
    counts = rng.integers(1, 6, len(cells)) if unequal else np.full(len(cells), prints)
    gone = rng.choice(len(cells), len(cells) // 4, replace=False) if missing else ()
    kept = [c for i, c in enumerate(cells) if i not in gone]
    return Truth(
        {c: means[c] for c in kept},
        {c: spreads[c] for c in kept},
        dict(zip(cells, counts, strict=True)),
        interacts,
    )


def found(rng, shape, truth):
    """Effects of one simulated test of this design."""
    samples = {
        c: Sample(
            str(c),
            tuple(
                PrintValue(str(i), float(v), float("nan"), 1)
                for i, v in enumerate(rng.normal(m, truth.spreads[c], truth.prints[c]))
            ),
        )
        for c, m in truth.means.items()
    }
    factors = tuple(Factor(n, LEVELS[:k]) for n, k in zip(NAMES, shape, strict=False))
    return criterion_effects(CRITERIA["grain"], factors, samples), samples


def outcome(effects, truth):
    """By family: whether all intervals hold, single intervals that hold, claims of nothing."""
    result = {}
    for family in FAMILIES:
        inside, false = [], False
        for one in getattr(effects, family):
            if one.estimate.low is None:
                continue
            true = sum(w * truth.means[c] for c, w in one.contrast.weights.items())
            inside.append(one.estimate.low <= true <= one.estimate.high)
            if family == "interactions" and not truth.interacts:
                false |= one.estimate.distinguishable
        if inside:
            result[family] = (all(inside), np.mean(inside), false)
    return result


def coverage(count, seed=1):
    """Print the share of families that hold, by number of prints and by shape."""
    rng = np.random.default_rng(seed)
    kinds = [(p, False) for p in range(1, 6)] + [(0, True)]
    tally = {}
    for number in range(count):
        shape = SHAPES[number % 3]
        prints, unequal = kinds[number // 3 % len(kinds)]
        missing = bool(number // 18 % 2)
        truth = drawn(rng, shape, missing=missing, unequal=unequal, prints=prints)
        result = outcome(found(rng, shape, truth)[0], truth)
        label = "1 to 5 prints" if unequal else f"{prints} print{'s' if prints > 1 else ''}"
        for key in (
            "all",
            label,
            " x ".join(map(str, shape)),
            "missing" if missing else "complete",
        ):
            for family, value in result.items():
                tally.setdefault((key, family), []).append((*value, truth.interacts))
    print("| designs | family | families | all hold | single holds | false interaction |")
    print("|---|---|---|---|---|---|")
    for (key, family), values in sorted(tally.items()):
        table = np.array(values, float)
        null = table[table[:, 3] == 0]
        false = f"{100 * null[:, 2].mean():.1f} %" if family == "interactions" else ""
        print(
            f"| {key} | {family} | {len(table)} | {100 * table[:, 0].mean():.1f} % | "
            f"{100 * table[:, 1].mean():.1f} % | {false} |"
        )
    return tally


def power(count, seed=2):
    """Print how often an interaction is claimed beside the F test of balanced tables."""
    rng = np.random.default_rng(seed)
    print("| design | prints | true, in spreads | ours | F test, pooled |")
    print("|---|---|---|---|---|")
    for shape, prints, size in product(((2, 2), (2, 3)), (3, 5), (0.0, 2.0, 4.0)):
        cells = list(product(*(LEVELS[:k] for k in shape)))
        means = {c: 10 + size * (c[0] == "b" and c[1] == LEVELS[shape[1] - 1]) for c in cells}
        truth = Truth(means, dict.fromkeys(cells, 1.0), dict.fromkeys(cells, prints), True)
        ours = theirs = 0
        for _ in range(count):
            effects, samples = found(rng, shape, truth)
            ours += any(i.estimate.distinguishable for i in effects.interactions)
            theirs += f_test(samples, shape) < 0.05
        print(
            f"| {' x '.join(map(str, shape))} | {prints} | {size:g} | {100 * ours / count:.0f} % | "
            f"{100 * theirs / count:.0f} % |"
        )


def f_test(samples, shape):
    """Probability of the interaction in a balanced two-way table by the usual F test."""
    values = np.array([s.values for s in samples.values()]).reshape(*shape, -1)
    n = values.shape[-1]
    means = values.mean(axis=-1)
    rest = means - means.mean(0) - means.mean(1, keepdims=True) + means.mean()
    degrees = (shape[0] - 1) * (shape[1] - 1), shape[0] * shape[1] * (n - 1)
    error = np.sum((values - means[..., None]) ** 2) / degrees[1]
    return float(stats.f.sf(n * np.sum(rest**2) / degrees[0] / error, *degrees))


if __name__ == "__main__":
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--count", type=int, default=2000)
    count = given.parse_args().count
    coverage(count)
    print()
    power(count // 8)
