"""How often a known spread of prints misleads, and what it finds: two settings of three prints.

    python tests/compare/known_spread_benchmark.py

`bound` prints the most that any rule of the same errors can find, by Neyman and Pearson's lemma on
a grid of the two things that any rule can look at: the ratio of the spreads and the difference.
"""

from __future__ import annotations

import numpy as np

from dotloupe.compare.known_spread import KnownSpread, agrees
from dotloupe.compare.pairs import compare_pairs
from dotloupe.compare.prints import PrintValue, Sample

PRINTS = 3
TRIALS = 4000


def found(
    errors: float, ratio: float, degrees: int | None, *, trials: int = TRIALS, seed: int = 18
) -> float:
    """Per cent of tests that claim a difference.

    Parameters
    ----------
    errors : float
        True difference, in its standard errors.
    ratio : float
        Standard deviation of present prints over that of earlier ones.
    degrees : int or None
        Of the known spread; None without one.
    """
    rng = np.random.default_rng([seed, int(10 * errors), int(10 * ratio), degrees or 0])
    claimed = 0
    for _ in range(trials):
        values = rng.standard_normal((2, PRINTS))
        values[0] += errors * np.sqrt(2 / PRINTS)
        samples = [
            Sample(name, tuple(PrintValue(f"{i}", v, np.nan, 1) for i, v in enumerate(own)))
            for name, own in zip("ab", values, strict=True)
        ]
        known = None
        if degrees is not None:
            known = KnownSpread(rng.chisquare(degrees) / degrees / ratio**2, degrees)
            known = known if agrees(known, samples) else None
        claimed += compare_pairs(samples, known=known)[0].distinguishable
    return 100 * claimed / trials


def bound(degrees: int, *, ratio: float = 2.0, alike: float = 5.0, unlike: float = 6.0) -> float:
    """Most that any rule finds of three standard errors, per cent, within these errors."""
    rng = np.random.default_rng(1)

    def density(errors: float, of: float) -> np.ndarray:
        own = 2 * (PRINTS - 1)
        present = rng.chisquare(own, 1_000_000) / own
        known = rng.chisquare(degrees, 1_000_000) / degrees / of**2
        both = (own * present + degrees * known) / (own + degrees)
        difference = np.abs(errors + rng.standard_normal(1_000_000)) / np.sqrt(both)
        edges = (np.linspace(-6, 5, 100), np.linspace(-3, 4, 120))
        counts, *_ = np.histogram2d(np.log(present / known), np.log(difference), bins=edges)
        return 100 * counts / 1_000_000

    true, same, other = density(3, 1), density(0, 1), density(0, ratio)
    best = 0.0
    for a in np.geomspace(0.3, 60, 30):
        for b in (0, *np.geomspace(0.3, 80, 30)):
            claims = true > a * same + b * other
            if same[claims].sum() <= alike and other[claims].sum() <= unlike:
                best = max(best, float(true[claims].sum()))
    return best


def main() -> None:
    """Print the table."""
    for degrees in (None, 12, 24):
        row = {
            "3 standard errors": found(3, 1, degrees),
            "no difference": found(0, 1, degrees),
            "no difference, spread doubled": found(0, 2, degrees),
            "no difference, spread halved": found(0, 0.5, degrees),
        }
        print(degrees, "degrees:", ", ".join(f"{k} {v:.1f} %" for k, v in row.items()), flush=True)
    for degrees in (12, 24):
        print(f"{degrees} degrees: no rule finds more than {bound(degrees):.1f} %", flush=True)


if __name__ == "__main__":
    main()
