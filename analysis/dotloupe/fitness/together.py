"""Photographs of one file judged together: the print repeats, what the camera does need not.

What a printer makes of an element, it makes of it in every print of that file. So where one
photograph shows all elements softer than another one of the same file does, it is out of focus or
moved; where it shows some places softer, its focus is uneven there.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.fitness.examination import Fitness, Sharpness
from dotloupe.fitness.finding import Evidence, Fault, FaultLimits, Finding, Severity, Symptom
from dotloupe.fitness.focus import (
    BEYOND,
    CHANCE,
    NOTICED_LOSS_PERCENT,
    Softer,
    kinds_of,
    place_name,
)
from dotloupe.fitness.focus_surface import focus_surface, loss_of

SAMPLING_WITHIN = 1.1
"""Times that the sampling of photographs compared may differ."""
SURE = 4.0
"""Standard errors by which one is softer than another at least."""
FEWEST = 8
"""Elements that both must show."""
MEDIAN_ERROR = 1.2533
"""Standard error of a median over that of a mean, of normal values."""

SOFTER_THAN_OTHERS = FaultLimits(
    Symptom.SOFTER_THAN_OTHERS,
    NOTICED_LOSS_PERCENT,
    np.inf,
    "% softer than another photograph of the same file",
    "settings differ by less than a tenth in detail",
)


@dataclass(frozen=True)
class SofterThan(Evidence):
    """The sharpest photograph of the same file."""

    sharpest: str


def judge_together(
    fitnesses: Sequence[Fitness | None], names: Sequence[str]
) -> list[Fitness | None]:
    """Add to each photograph what the others of its file tell of it.

    Parameters
    ----------
    fitnesses : sequence of Fitness or None
        Of the photographs of one run; None of those without.
    names : sequence of str
        What each is called.

    Returns
    -------
    list of Fitness or None
        In the same order.
    """
    judged = list(fitnesses)
    files: dict[Hashable, list[int]] = defaultdict(list)
    for i, fitness in enumerate(fitnesses):
        sharpness = None if fitness is None else fitness.sharpness
        if sharpness is not None and sharpness.run is not None and sharpness.sent_ppi is not None:
            files[sharpness.run, sharpness.sent_ppi, sharpness.size_mm].append(i)
    for members in files.values():
        for i in members:
            mine = fitnesses[i]
            near = [(names[j], s) for j in members if (s := _near(fitnesses[j], mine)) is not None]
            if mine is not None and mine.sharpness is not None and len(near) > 1:
                judged[i] = _with(mine, _compared(mine.sharpness, near))
    return judged


def _near(other: Fitness | None, mine: Fitness | None) -> Sharpness | None:
    """Sharpness of another photograph, where it was sampled as finely as this one."""
    if other is None or mine is None or other.sharpness is None or mine.sharpness is None:
        return None
    least, most = sorted((other.sharpness.pixels_per_mm, mine.sharpness.pixels_per_mm))
    return other.sharpness if most <= SAMPLING_WITHIN * least else None


def _with(fitness: Fitness, found: tuple[Finding, ...]) -> Fitness:
    """Put findings in the place of what could not be told of their faults."""
    if not found:
        return fitness
    blurs = {Fault.DEFOCUS, Fault.MOTION_BLUR, Fault.UNEVEN_FOCUS}
    kept = tuple(
        c for c in fitness.checks if c.severity is not Severity.CANNOT_TELL or c.fault not in blurs
    )
    return replace(fitness, checks=(*kept, *found))


def _compared(mine: Sharpness, near: Sequence[tuple[str, Sharpness]]) -> tuple[Finding, ...]:
    common = sorted(set.intersection(*(set(s.edges.names) for _, s in near)))
    if len(common) < FEWEST:
        return ()
    edge_um2 = min(s.edge_um2 for _, s in near)
    blur = np.array([_blur_um2(s, common, BEYOND * edge_um2) for _, s in near])
    own = _blur_um2(mine, common, BEYOND * edge_um2)
    sharpest = int(np.argmin(np.median(blur, axis=1)))
    found: list[Finding | None] = []
    more = own - blur[sharpest]
    error = MEDIAN_ERROR * more.std(ddof=1) / np.sqrt(len(more))
    if np.median(more) > SURE * error:
        lost = 100 * float(loss_of(float(np.median(more)), edge_um2))
        evidence = SofterThan(near[sharpest][0])
        found.append(Finding(Fault.DEFOCUS, lost, SOFTER_THAN_OTHERS, evidence))
    found.append(_uneven(mine, common, own - np.median(blur, axis=0), edge_um2))
    return tuple(one for one in found if one is not None and one.severity is not Severity.FINE)


def _uneven(
    mine: Sharpness, common: Sequence[str], more_um2: FloatArray, edge_um2: float
) -> Finding | None:
    """Where this photograph is softer than the middle one of its file, beyond being so overall."""
    index = [mine.edges.names.index(name) for name in common]
    places = mine.edges.centres_mm[index]
    marks = kinds_of(mine.edges, "mark")[index]
    surface = focus_surface(
        places, more_um2, np.zeros(len(common), dtype=np.intp), mine.size_mm, edge_um2
    )
    if surface is None or surface.chance > CHANCE or not marks.any():
        return None
    softer = np.where(marks, more_um2 - np.median(more_um2), -np.inf)
    worst = int(np.argmax(softer))
    lost = 100 * float(loss_of(float(softer[worst]), edge_um2))
    place = Softer(place_name(places[worst], mine.size_mm))
    return Finding(
        Fault.UNEVEN_FOCUS, lost, replace(SOFTER_THAN_OTHERS, symptom=Symptom.SOFTENING), place
    )


def _blur_um2(sharpness: Sharpness, names: Sequence[str], most: float) -> FloatArray:
    """Blur of these elements in their sharpest direction."""
    least = dict(zip(sharpness.edges.names, sharpness.edges.variance_um2.min(axis=1), strict=True))
    return np.minimum(np.array([least[name] for name in names]), most)
