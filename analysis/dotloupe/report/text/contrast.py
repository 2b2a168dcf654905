"""Up to where prints keep faint detail and colour detail, in sentences; captions of their maps."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.number import CONTRAST_CRITERIA, Quantity
from dotloupe.report.text.phrases import quoted, sentence
from dotloupe.report.text.plot_captions import Caption
from dotloupe.report.text.rounding import number_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.compare.ranking import CriterionRanking, Place
    from dotloupe.number import Measurand

TONES = {"light": "light tones", "middle": "middle tones", "dark": "dark tones"}


def contrast_sentences(criteria: Sequence[CriterionRanking]) -> list[str]:
    """Say up to where each setting keeps faint detail in a tone, or colour detail.

    Parameters
    ----------
    criteria : sequence of CriterionRanking
        Of gratings, each of which distinguishes two settings at least. Of the two directions the
        one that differs more is named.
    """
    strongest: dict[tuple[Quantity, str], CriterionRanking] = {}
    for criterion in criteria:
        measurand = CONTRAST_CRITERIA[criterion.name].measurand
        key = measurand.quantity, measurand.tone
        if key not in strongest or _spread(criterion) > _spread(strongest[key]):
            strongest[key] = criterion
    return [_sentence(c) for c in strongest.values()]


def _spread(criterion: CriterionRanking) -> float:
    values = [p.value for p in criterion.places]
    return max(values) / min(values)


def _sentence(criterion: CriterionRanking) -> str:
    best, *others = criterion.places
    what = _what(CONTRAST_CRITERIA[criterion.name].measurand)
    first = f"{quoted(best.setting)} keeps {what} up to {_frequency(best)} lp/mm"
    rest = ", ".join(f"{quoted(p.setting)} up to {_frequency(p)}" for p in others)
    return sentence(f"{first}, {rest}.")


def _what(measurand: Measurand) -> str:
    if measurand.quantity is Quantity.COLOUR_DETAIL:
        return f"colour detail along {measurand.axis}"
    return f"faint detail in {TONES[measurand.tone]} along {measurand.axis}"


def _frequency(place: Place) -> str:
    return f"{'at least ' if place.at_least else ''}{number_text(place.value, 1)}"


def contrast_caption(setting: str, distance_mm: float) -> Caption:
    """Caption of the map of frequency by contrast of one setting.

    Parameters
    ----------
    setting : str
    distance_mm : float
        From which the prints are looked at.
    """
    return Caption(
        f"What survives: {quoted(setting)}",
        "Filled marks survive: they stand out from the grain and keep a tenth of their contrast. "
        "Solid line: their border. Broken line: the least contrast that a keen eye sees at "
        f"{distance_mm / 10:g} cm.",
    )
