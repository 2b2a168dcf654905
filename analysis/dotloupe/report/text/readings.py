"""Sentences on the three readings of detail: whether they agree, and what it means if not."""

from __future__ import annotations

from typing import TYPE_CHECKING

from dotloupe.report.text.phrases import listed, sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from dotloupe.measure import Parting, ReadingName

AGREE = "They agree wherever they can be compared."
MEANINGS: dict[tuple[ReadingName, str], str] = {
    ("edges", "most"): (
        "edges keep the most contrast, a sign of sharpening in the driver or the camera"
    ),
    ("bars", "most"): (
        "bars keep the most contrast, as when a halftone deepens dark bars on paper, or false "
        "resolution passes for contrast"
    ),
    ("texture", "least"): (
        "texture keeps the least contrast, as when grain or smoothing removes fine irregular detail"
    ),
}
OF_TONE = "each reads other tones, and detail depends on the tone"


def readings_sentence(found: Parting | None) -> str:
    """Say in one line how the readings of a setting compare, and where; None has too few."""
    if found is None:
        return "No two readings share frequencies at which to compare them."
    low, high = found.frequencies
    contrast = listed(
        f"{name} {100 * mean:.0f} ± {100 * half:.0f} %"
        for name, mean, half in zip(found.order, found.mean, found.half, strict=True)
    )
    verdict = "they disagree" if any(found.parted) else "they agree"
    return f"{sentence(verdict)}. Mean from {low:.1f} to {high:.1f} cycles/mm: {contrast}."


def disagreement_sentence(found: Sequence[Parting]) -> str:
    """Say once, for all settings and directions, what it means where the readings disagree."""
    parted = [p for p in found if any(p.parted)]
    if not parted:
        return AGREE if found else ""
    meanings = dict.fromkeys(m for p in parted for m in _meanings(p))
    where = "They disagree" if len(parted) == len(found) else "Where they disagree"
    return f"{where}: {'; '.join(meanings)}."


def _meanings(found: Parting) -> list[str]:
    ends = ((found.order[0], "most", found.parted[0]), (found.order[-1], "least", found.parted[-1]))
    meant = [MEANINGS[name, end] for name, end, apart in ends if apart and (name, end) in MEANINGS]
    return meant or [OF_TONE]
