"""What comparisons cannot say: one frozen class for each kind of caution."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dotloupe.capture import SetUpPart
from dotloupe.cautions import Caution
from dotloupe.patch import PatchKind


@dataclass(frozen=True)
class DuplicateCapture(Caution):
    """A photograph given twice for one setting, counted once."""

    path: str
    first_path: str


@dataclass(frozen=True)
class NoFitCapture(Caution):
    """A setting, or a sent ppi as `noun` says, left out for want of a fit capture."""

    noun: str
    setting: str


@dataclass(frozen=True)
class MixedSentPpi(Caution):
    """Prints of one setting were sent at different ppi."""

    setting: str
    sent_ppi: tuple[float, ...]


@dataclass(frozen=True)
class MixedKinds(Caution):
    """Patches of several kinds under one setting: each number comes from those of its own kind.

    `counts` has every kind with its number of photographs.
    """

    setting: str
    counts: tuple[tuple[PatchKind, int], ...]


@dataclass(frozen=True)
class DifferentSetUps(Caution):
    """Photographs of one comparison that were taken in different set-ups.

    Attributes
    ----------
    parts : tuple of SetUpPart
        What they do not share.
    cameras, file_kinds : tuple of str
    pixels_per_mm : (float, float)
        The least and the greatest.
    most_lost_percent : float or None
        Of MTF50, that the camera may have taken at most from any of them.
    """

    parts: tuple[SetUpPart, ...]
    cameras: tuple[str, ...]
    pixels_per_mm: tuple[float, float]
    file_kinds: tuple[str, ...]
    most_lost_percent: float | None


@dataclass(frozen=True)
class SamePrintTwice(Caution):
    """Prints of one run and ppi, by their own marks, under several settings."""

    run: int
    settings: tuple[str, ...]


@dataclass(frozen=True)
class NotInOverall(Caution):
    """Criteria that not every setting has, so that "overall" leaves them out."""

    criteria: tuple[str, ...]


@dataclass(frozen=True)
class NoValue(Caution):
    """A setting without a value of this criterion."""

    setting: str


@dataclass(frozen=True)
class OnePrintEach(Caution):
    """No setting was printed twice: the result holds for these prints alone."""


@dataclass(frozen=True)
class SinglePrints(Caution):
    """Settings of one print, assumed to vary as the others do."""

    settings: tuple[str, ...]


@dataclass(frozen=True)
class WithinUnnoticedFaults(Caution):
    """Pairs of which one has a single print, apart by less than a fault may cost unnoticed."""

    pairs: tuple[tuple[str, str], ...]
    unnoticed_percent: float


@dataclass(frozen=True)
class TwoPrints(Caution):
    """Two prints of a setting, which tell little of how prints vary."""


@dataclass(frozen=True)
class UnknownSpread(Caution):
    """Values with neither an interval nor a repeat, which cannot be distinguished."""


@dataclass(frozen=True)
class KnownSpreadTaken(Caution):
    """Prints were assumed to vary as earlier ones do, against which a test found nothing.

    Attributes
    ----------
    sd : float
        Standard deviation of a print, in the criterion's unit.
    degrees : float
    """

    sd: float
    degrees: float


@dataclass(frozen=True)
class KnownSpreadLeftOut(Caution):
    """Prints vary otherwise than earlier ones, which were left out; fields as before."""

    sd: float
    degrees: float


@dataclass(frozen=True)
class OnePrintEachPpi(Caution):
    """A ladder without repeats: how prints vary is not known."""


@dataclass(frozen=True)
class TooFewForTrend(Caution):
    """Fewer than four sent ppi: no trend can be drawn."""


@dataclass(frozen=True)
class TooFewForOutstanding(Caution):
    """Fewer than five sent ppi: whether one stands out cannot be tested."""


@dataclass(frozen=True)
class StillRising(Caution):
    """The highest ppi sent does not reach the plateau."""


@dataclass(frozen=True)
class LowestIsEnough(Caution):
    """The lowest ppi sent reaches the plateau already."""


@dataclass(frozen=True)
class OtherPpiInCode(Caution):
    """A print whose code names another ppi than it is counted as."""

    path: str
    code_ppi: float
    counted_ppi: float


@dataclass(frozen=True)
class SeveralVersions(Caution):
    """Captures of one trend measured by different versions of the program."""

    versions: tuple[str, ...]


@dataclass(frozen=True)
class EmptyBaseline(Caution):
    """No print falls in the baseline given."""


@dataclass(frozen=True)
class TooFewForLimits(Caution):
    """Fewer than three prints in the baseline: no control limits."""


@dataclass(frozen=True)
class ShortBaseline(Caution):
    """Few prints in the baseline, so that its limits are wide."""


@dataclass(frozen=True)
class CaptureWarning(Caution):
    """A warning of captures, and how many of the photographs carry it."""

    warning: str
    count: int
    photographs: int


@dataclass(frozen=True)
class SimulatedCaptures(Caution):
    """Photographs that no camera took, and how many there are in all."""

    count: int
    photographs: int


@dataclass(frozen=True)
class MissingCombinations(Caution):
    """Combinations of levels that were not printed: effects are over what both levels share."""

    combinations: tuple[str, ...]


@dataclass(frozen=True)
class SpreadByInteractions(Caution):
    """One print of each combination, whose spread is taken from interactions of higher order.

    `degrees` of freedom are behind it; `for_interactions` says whether those of two factors have a
    spread too.
    """

    degrees: int
    for_interactions: bool


@dataclass(frozen=True)
class SpreadByHistory(Caution):
    """One print of each combination; by how much prints vary is taken from the history."""

    degrees: float


@dataclass(frozen=True)
class LowerBounds(Caution):
    """Combinations whose value is a lower bound alone, so that its effects have no interval."""

    combinations: tuple[str, ...]


@dataclass(frozen=True)
class NoSpread(Caution):
    """Nothing tells how prints vary: no repeat, and no interaction to spare."""


@dataclass(frozen=True)
class UnequalPrints(Caution):
    """Combinations with different numbers of prints."""

    fewest: int
    most: int


@dataclass(frozen=True)
class UnequalSpreads(Caution):
    """Prints of one combination vary more than those of another."""

    most: str
    least: str
    ratio: float


@dataclass(frozen=True)
class OfAnotherRun(Caution):
    """A photograph whose marks say another run than one whose name says the same print."""

    run: int
    other_path: str
    other_run: int


def carried_by_all(each: Sequence[tuple[Caution, ...]]) -> list[Caution]:
    """Cautions that every criterion carries: they hold for the whole comparison."""
    return [caution for caution in each[0] if all(caution in c for c in each)] if each else []
