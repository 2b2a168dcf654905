"""One number and what it is a number of: quantity, axis, tone, ink, unit, uncertainty."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Literal

from dotloupe.measure import Uncertainty, normal_uncertainty

if TYPE_CHECKING:
    from dotloupe.patch import Axis

Direction = Literal["higher", "lower"]


class Quantity(Enum):
    """What a number measures; the value begins its name in JSON."""

    DETAIL = "detail"
    LINE_PAIRS = "line_pairs"
    GRAIN = "grain"
    VISUAL_GRAININESS = "visual_graininess"
    GRAININESS = "graininess"
    MOTTLE = "mottle"
    BANDING = "banding"
    RMS_GRANULARITY = "rms_granularity"
    DOTS = "dots"
    DOT_EVENNESS = "dot_evenness"
    DOT_SPACING = "dot_spacing"
    TEXTURE_KEPT = "texture_kept"
    RESPONSE = "response"
    PICTURE_KEPT = "picture_kept"
    OFFSET = "offset"
    RAGGEDNESS = "raggedness"
    LINE_WIDTH = "line_width"
    PASSES_APART = "passes_apart"
    OVERALL = "overall"


@dataclass(frozen=True)
class Measurand:
    """What a number is a number of.

    Attributes
    ----------
    quantity : Quantity
    axis : {"x", "y"} or None
        Along which it was measured; None where it has no direction.
    tone : str
        Tint, or tone pair of edges; empty for the usual one, and for what has none.
    ink : str
        Ink plane; empty for what has none.
    """

    quantity: Quantity
    axis: Axis | None = None
    tone: str = ""
    ink: str = ""

    @property
    def name(self) -> str:
        """Name in JSON and in tables of numbers: `offset_cyan_x`."""
        return "_".join(filter(None, (self.quantity.value, self.ink, self.tone, self.axis)))


@dataclass(frozen=True)
class Criterion:
    """A measurand that settings are ranked by, and which way is better."""

    measurand: Measurand
    unit: str
    better: Direction
    title: str

    @property
    def name(self) -> str:
        """Name of its number in JSON."""
        return self.measurand.name


def _criteria(quantity: Quantity, unit: str, title: str) -> dict[str, Criterion]:
    """Criteria of both axes, of which more is better."""
    axes: tuple[Axis, Axis] = ("x", "y")
    found = (Criterion(Measurand(quantity, a), unit, "higher", title.format(a)) for a in axes)
    return {c.name: c for c in found}


_GRAIN = Criterion(Measurand(Quantity.GRAIN), "L* rms", "lower", "Visible grain")
CRITERIA: Mapping[str, Criterion] = {
    **_criteria(Quantity.DETAIL, "cycles/mm", "Detail along {} (MTF50)"),
    **_criteria(Quantity.LINE_PAIRS, "lp/mm", "Line pairs resolved along {}"),
    _GRAIN.name: _GRAIN,
}

PICTURE_CRITERIA: Mapping[str, Criterion] = {
    **_criteria(
        Quantity.PICTURE_KEPT, "cycles/mm", "Own picture: detail kept along {} (half of it)"
    ),
    **_criteria(Quantity.RESPONSE, "cycles/mm", "Response to content along {} (half)"),
}
"""What joins the criteria where one's own picture was photographed."""


@dataclass(frozen=True)
class Number:
    """One scalar with its 95 % interval and its unit.

    Attributes
    ----------
    value, low, high : float
        In `unit`. The ends are those that the measurement found: several intervals are skewed,
        and a bracket between two bar groups is no multiple of a standard error.
    unit : str
    measurand : Measurand or None
        What it is a number of; None for a bare value.
    uncertainty : Uncertainty or None
        Standard error and degrees of freedom that the interval rests on. If not given, that of
        the normal error whose interval is as long; None where the interval is open.
    """

    value: float
    low: float
    high: float
    unit: str
    measurand: Measurand | None = None
    uncertainty: Uncertainty | None = None

    def __post_init__(self) -> None:
        if self.uncertainty is None:
            object.__setattr__(self, "uncertainty", normal_uncertainty((self.low, self.high)))

    def to_dict(self) -> dict[str, float | str | None]:
        """Plain values; an end of the interval that the capture leaves open is None."""
        ends = (e if math.isfinite(e) else None for e in (self.low, self.high))
        return {
            "value": self.value,
            **dict(zip(("low", "high"), ends, strict=True)),
            "unit": self.unit,
        }
