"""One number and what it is a number of: quantity, axis, tone, ink, name, unit, uncertainty."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Literal, NamedTuple

from dotloupe.measure import Uncertainty, normal_uncertainty
from dotloupe.patch import CONTRAST_TONES, PAPER_TONE, grey_reflectance

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
    HALO = "halo"
    UNRELATED = "unrelated"
    OFFSET = "offset"
    RAGGEDNESS = "raggedness"
    LINE_WIDTH = "line_width"
    PASSES_APART = "passes_apart"
    FAINT_DETAIL = "faint_detail"
    COLOUR_DETAIL = "colour_detail"
    LEAST_CONTRAST_SEEN = "least_contrast_seen"
    TONE_SHIFT = "tone_shift"
    OVERALL = "overall"


class Wording(NamedTuple):
    """What numbers of one quantity are called, with places for axis, ink and tone."""

    title: str
    phrase: str
    """Within a sentence, or under a heading that says what it is about."""


WORDINGS: Mapping[Quantity, Wording] = {
    Quantity.DETAIL: Wording("Detail along {axis}{tones} (MTF50)", "detail along {axis}{tones}"),
    Quantity.LINE_PAIRS: Wording("Line pairs resolved along {axis}", "line pairs along {axis}"),
    Quantity.GRAIN: Wording("Visible grain", "visible grain"),
    Quantity.VISUAL_GRAININESS: Wording("Visible grain, {tint}", "{tint}"),
    Quantity.GRAININESS: Wording("Graininess, {tint}", "graininess, {tint}"),
    Quantity.MOTTLE: Wording("Mottle, {tint}", "mottle, {tint}"),
    Quantity.BANDING: Wording("Banding, {tint}", "banding, {tint}"),
    Quantity.RMS_GRANULARITY: Wording("Rms granularity, {tint}", "rms granularity, {tint}"),
    Quantity.DOTS: Wording("Dots, {tint}", "dots, {tint}"),
    Quantity.DOT_EVENNESS: Wording("Evenness of dots, {tint}", "evenness of dots, {tint}"),
    Quantity.DOT_SPACING: Wording("Spacing of dots, {tint}", "spacing of dots, {tint}"),
    Quantity.TEXTURE_KEPT: Wording("Texture kept along {axis}", "texture kept along {axis}"),
    Quantity.RESPONSE: Wording("Response to content along {axis} (half)", "response along {axis}"),
    Quantity.HALO: Wording("Halo along {axis} beyond the picture's", "halo along {axis}"),
    Quantity.UNRELATED: Wording(
        "Structure along {axis} that is not in the picture", "foreign structure along {axis}"
    ),
    Quantity.PICTURE_KEPT: Wording(
        "Own picture: detail kept along {axis} (half of it)",
        "detail kept of the picture along {axis}",
    ),
    Quantity.OFFSET: Wording("{ink} against black along {axis}", "{ink} along {axis}"),
    Quantity.RAGGEDNESS: Wording(
        "Raggedness of black lines along {axis}", "raggedness along {axis}"
    ),
    Quantity.LINE_WIDTH: Wording("Width of black lines along {axis}", "line width along {axis}"),
    Quantity.PASSES_APART: Wording("Passes apart along {axis}", "passes apart along {axis}"),
    Quantity.FAINT_DETAIL: Wording(
        "Faint detail along {axis}{tones}", "faint detail along {axis}{tones}"
    ),
    Quantity.COLOUR_DETAIL: Wording("Colour detail along {axis}", "colour detail along {axis}"),
    Quantity.LEAST_CONTRAST_SEEN: Wording(
        "Least contrast seen along {axis}{tones}, at 2 lp/mm",
        "least contrast seen along {axis}{tones}",
    ),
    Quantity.TONE_SHIFT: Wording(
        "Shift of the mean by strong gratings along {axis}{tones}",
        "shift of the mean along {axis}{tones}",
    ),
    Quantity.OVERALL: Wording("Overall, visible steps ahead of the last", "overall"),
}


def reflected_percent(tone: str) -> int | None:
    """Return what a grey reflects of what paper does, in per cent; None of another tint."""
    reflectance = grey_reflectance(tone)
    return None if reflectance is None or tone == PAPER_TONE else round(100 * reflectance)


def tint_title(tone: str) -> str:
    """Return what a tint is called: `grey80` is the grey that reflects 80 % of what paper does."""
    percent = reflected_percent(tone)
    return tone.replace("_", " ") if percent is None else f"grey that reflects {percent} %"


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

    @property
    def title(self) -> str:
        """What it is called where it stands by itself, as in the list of one capture."""
        title = self._worded(WORDINGS[self.quantity].title)
        return title[:1].upper() + title[1:]

    @property
    def phrase(self) -> str:
        """What a sentence calls it, or a row under the heading of its group."""
        return self._worded(WORDINGS[self.quantity].phrase)

    def _worded(self, text: str) -> str:
        return text.format(
            axis=self.axis,
            ink=self.ink.replace("_", " "),
            tint=tint_title(self.tone),
            tones=f" in {self.tone} tones" if self.tone else "",
        )


@dataclass(frozen=True)
class Criterion:
    """A measurand that settings are ranked by, and which way is better."""

    measurand: Measurand
    unit: str
    better: Direction

    @property
    def name(self) -> str:
        """Name of its number in JSON."""
        return self.measurand.name

    @property
    def title(self) -> str:
        """What it is called where it stands by itself."""
        return self.measurand.title

    @property
    def lowest(self) -> float:
        """Least value that there can be; the steps of "overall" alone may lie below zero."""
        return -math.inf if self.measurand.quantity is Quantity.OVERALL else 0.0


def _criteria(*criteria: Criterion) -> dict[str, Criterion]:
    return {c.name: c for c in criteria}


def _along_both(
    quantity: Quantity, unit: str, better: Direction = "higher", *, tone: str = ""
) -> tuple[Criterion, ...]:
    """Criteria of both axes."""
    axes: tuple[Axis, Axis] = ("x", "y")
    return tuple(Criterion(Measurand(quantity, axis, tone), unit, better) for axis in axes)


CRITERIA: Mapping[str, Criterion] = _criteria(
    *_along_both(Quantity.DETAIL, "cycles/mm"),
    *_along_both(Quantity.LINE_PAIRS, "lp/mm"),
    Criterion(Measurand(Quantity.GRAIN), "L* rms", "lower"),
)
PICTURE_CRITERIA: Mapping[str, Criterion] = _criteria(
    *_along_both(Quantity.PICTURE_KEPT, "cycles/mm"),
    *_along_both(Quantity.RESPONSE, "cycles/mm"),
    *_along_both(Quantity.HALO, "% of a step", "lower"),
    *_along_both(Quantity.UNRELATED, "% reflectance rms", "lower"),
)
"""What joins the criteria where one's own picture was photographed."""

CONTRAST_CRITERIA: Mapping[str, Criterion] = _criteria(
    *(
        criterion
        for tone in CONTRAST_TONES
        for criterion in _along_both(Quantity.FAINT_DETAIL, "lp/mm", tone=tone)
    ),
    *_along_both(Quantity.COLOUR_DETAIL, "lp/mm"),
)
"""What joins the criteria where contrast patches were photographed."""

OVERALL = Criterion(Measurand(Quantity.OVERALL), "visible steps", "higher")


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

    @property
    def at_least(self) -> bool:
        """Whether the number is a lower bound: the upper end of its interval is open."""
        return math.isinf(self.high) and self.high > 0

    def to_dict(self) -> dict[str, float | str | None]:
        """Plain values; an end of the interval that the capture leaves open is None."""
        ends = (e if math.isfinite(e) else None for e in (self.low, self.high))
        return {
            "value": self.value,
            **dict(zip(("low", "high"), ends, strict=True)),
            "unit": self.unit,
        }
