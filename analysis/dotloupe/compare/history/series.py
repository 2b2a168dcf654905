"""One number of a printer, print by print and visit by visit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from itertools import chain, groupby

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.number import Direction, Measurand, Quantity
from dotloupe.patch import PAPER_TONE, Axis, PatchKind, patch_regions

HEAD_QUANTITIES = (
    Quantity.GRAIN,
    Quantity.DETAIL,
    Quantity.LINE_PAIRS,
    Quantity.OFFSET,
    Quantity.PASSES_APART,
    Quantity.RAGGEDNESS,
    Quantity.MOTTLE,
    Quantity.BANDING,
)
"""What a head out of line or a lost nozzle shows in."""

HIGHER_IS_BETTER = {
    Quantity.DETAIL,
    Quantity.LINE_PAIRS,
    Quantity.TEXTURE_KEPT,
    Quantity.RESPONSE,
    Quantity.PICTURE_KEPT,
    Quantity.FAINT_DETAIL,
    Quantity.COLOUR_DETAIL,
}
LOWER_IS_BETTER = {
    Quantity.GRAIN,
    Quantity.VISUAL_GRAININESS,
    Quantity.GRAININESS,
    Quantity.RMS_GRANULARITY,
    Quantity.PASSES_APART,
    Quantity.RAGGEDNESS,
    Quantity.MOTTLE,
    Quantity.BANDING,
    Quantity.LEAST_CONTRAST_SEEN,
}
MAY_BE_ZERO = {
    Quantity.OFFSET,
    Quantity.PASSES_APART,
    Quantity.BANDING,
    Quantity.LINE_PAIRS,
    Quantity.TONE_SHIFT,
}
"""Compared by difference; all other known numbers by ratio, as their spread grows with them."""

KINDS: tuple[PatchKind, ...] = ("detail", "tints", "contrast")


@dataclass(frozen=True)
class Point:
    """One print.

    Attributes
    ----------
    printed_on : date
        Day of the printing.
    print_id : str
        Its name.
    run : int or None
        Its run number.
    value, standard_error : float
        Mean over its photographs, and what their intervals leave open.
    photographs : int
        How many there are.
    captures, versions : tuple of str
        Hashes of the photographs, and versions of the program that measured them.
    """

    printed_on: date
    print_id: str
    run: int | None
    value: float
    standard_error: float
    photographs: int
    captures: tuple[str, ...]
    versions: tuple[str, ...]


@dataclass(frozen=True)
class Visit:
    """The prints of one day.

    Attributes
    ----------
    day : date
    points : tuple of int
        Their places in the series.
    n : int
        Number of prints.
    mean, squares : float
        Mean, and sum of squares about it, on the scale that the number is compared on.
    """

    day: date
    points: tuple[int, ...]
    n: int
    mean: float
    squares: float


@dataclass(frozen=True)
class Series:
    """One number over time.

    Attributes
    ----------
    name, unit : str
    measurand : Measurand or None
        None for a number whose name this version does not know.
    points : tuple of Point
        In order of time.
    """

    name: str
    unit: str
    measurand: Measurand | None
    points: tuple[Point, ...]

    @property
    def quantity(self) -> Quantity | None:
        """What it measures."""
        return self.measurand.quantity if self.measurand else None

    @property
    def title(self) -> str:
        """What people read."""
        return self.measurand.title if self.measurand else self.name

    @property
    def better(self) -> Direction | None:
        """Which way is better; None for an offset, which is best at zero, and for other numbers."""
        if self.quantity in HIGHER_IS_BETTER:
            return "higher"
        return "lower" if self.quantity in LOWER_IS_BETTER else None

    @property
    def by_ratio(self) -> bool:
        """Whether logarithms are compared."""
        known = self.quantity is not None and self.quantity not in MAY_BE_ZERO
        return known and all(p.value > 0 for p in self.points)

    def compared(self, values: FloatArray) -> FloatArray:
        """Values on the scale that the number is compared on."""
        return np.log(values) if self.by_ratio else values

    def value(self, compared: float) -> float:
        """The value in its unit, from that scale."""
        if not self.by_ratio:
            return float(compared)
        # so few prints may bound a ratio by nothing at all
        with np.errstate(over="ignore"):
            return float(np.exp(compared))

    @property
    def measured_variance(self) -> float:
        """Mean variance that the photographs' own intervals leave open; 0 where none is known."""
        values = np.array([p.value for p in self.points])
        errors = np.array([p.standard_error for p in self.points])
        errors = errors / np.abs(values) if self.by_ratio else errors
        known = errors[np.isfinite(errors)]
        return float(np.mean(known**2)) if known.size else 0.0

    def visits(self) -> tuple[Visit, ...]:
        """Prints by day."""
        compared = self.compared(np.array([p.value for p in self.points]))
        by_day = groupby(range(len(self.points)), lambda i: self.points[i].printed_on)
        return tuple(_visit(day, tuple(points), compared) for day, points in by_day)


def _visit(day: date, points: tuple[int, ...], compared: FloatArray) -> Visit:
    own = compared[list(points)]
    return Visit(day, points, len(own), float(own.mean()), float(np.sum((own - own.mean()) ** 2)))


def of_head(series: Sequence[Series]) -> list[Series]:
    """Those that a head out of line or a lost nozzle shows in, as printed, in the usual tones."""
    return [
        s
        for s in series
        if s.measurand
        and s.quantity in HEAD_QUANTITIES
        and s.measurand.tone != PAPER_TONE
        and not (s.quantity is Quantity.DETAIL and s.measurand.tone)
    ]


ALONG_AXES = (
    Quantity.DETAIL,
    Quantity.LINE_PAIRS,
    Quantity.RAGGEDNESS,
    Quantity.LINE_WIDTH,
    Quantity.PASSES_APART,
    Quantity.TEXTURE_KEPT,
    Quantity.RESPONSE,
    Quantity.PICTURE_KEPT,
    Quantity.COLOUR_DETAIL,
)
OF_GRATINGS = (Quantity.FAINT_DETAIL, Quantity.LEAST_CONTRAST_SEEN, Quantity.TONE_SHIFT)
OF_TINTS = (
    Quantity.VISUAL_GRAININESS,
    Quantity.GRAININESS,
    Quantity.MOTTLE,
    Quantity.BANDING,
    Quantity.RMS_GRANULARITY,
    Quantity.DOTS,
    Quantity.DOT_EVENNESS,
    Quantity.DOT_SPACING,
)


@cache
def known_measurands() -> dict[str, Measurand]:
    """Every measurand of the patches, by the name of its number.

    A history keeps names alone; what a name stands for is looked up here.
    """
    axes: tuple[Axis, ...] = ("x", "y")
    found = [Measurand(Quantity.GRAIN), *(Measurand(q, a) for q in ALONG_AXES for a in axes)]
    for region in chain.from_iterable(patch_regions(kind).values() for kind in KINDS):
        if region.kind == "line":
            found.append(Measurand(Quantity.OFFSET, region.direction, ink=region.ink))
        elif region.kind == "edge":
            found.append(Measurand(Quantity.DETAIL, region.direction, tone=region.tone))
        elif region.kind == "grating" and not region.ink:
            found += [Measurand(q, region.direction, tone=region.tone) for q in OF_GRATINGS]
        elif region.kind == "tint":
            found += [Measurand(q, tone=region.tone) for q in OF_TINTS]
    return {m.name: m for m in found}
