"""Invented numbers of prints, and what is asked of them in several tests."""

import numpy as np

from dotloupe.compare.ladder.all_criteria import ladder
from dotloupe.compare.visibility.setting_pair import pair_visibility
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, PICTURE_CRITERIA, Measurand, Number, Quantity

KNOWN = {**CRITERIA, **PICTURE_CRITERIA}
MEASURANDS = {name: c.measurand for name, c in KNOWN.items()} | {
    m.name: m
    for m in (Measurand(Quantity.OFFSET, "x", ink="cyan"), Measurand(Quantity.RAGGEDNESS, "x"))
}


def shot(name, values, *, error=0.01, sent_ppi=600.0, kind=Measurement, unit=None, **results):
    """Invented numbers, each known to `error` of itself, one standard error."""
    numbers = {}
    for c, v in values.items():
        half = 1.96 * error * v
        known = KNOWN[c].unit if c in KNOWN else "um"
        numbers[c] = Number(v, v - half, v + half, unit or known, MEASURANDS.get(c))
    path = f"{name}.tif"
    return kind(path, name, name, 1, sent_ppi, True, (), (), numbers, **results)


def shots(setting, seed=1, count=4, spread=0.01, **values):
    rng = np.random.default_rng(seed)
    return [
        shot(
            f"{setting}{i}",
            {c: v * (1 + spread * rng.standard_normal()) for c, v in values.items()},
        )
        for i in range(count)
    ]


def saturating_ladder(ppi, knee, **more):
    """A ladder of detail that levels off beyond a knee, one print a ppi."""

    def one(p):
        return {"detail_x": 5 * (1 + (knee / p) ** 2) ** -0.5, "grain": 0.0}

    return ladder({p: [shot(f"{p}", one(p), error=0.005, sent_ppi=p)] for p in ppi}, **more)


def visibility_between(ranking, setting, other):
    """Visibility of any two settings of a ranking, in the order given."""
    differences = {
        name: pair
        for name, criterion in ranking.criteria.items()
        for pair in criterion.pairs
        if {pair.setting, pair.other} == {setting, other}
    }
    both = {s: ranking.measurements[s] for s in (setting, other)}
    distance_mm = ranking.parameters["viewing_distance_mm"]
    return pair_visibility(both, differences, ranking.scales, distance_mm)
