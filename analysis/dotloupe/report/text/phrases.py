"""Names and phrases that tables and pages share."""

from __future__ import annotations

import unicodedata
from typing import TYPE_CHECKING

from dotloupe.number import (
    CONTRAST_CRITERIA,
    CRITERIA,
    OVERALL,
    PICTURE_CRITERIA,
    reflected_percent,
    tint_title,
)
from dotloupe.patch import CORNERS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from dotloupe.compare.visibility import DifferencePlace
    from dotloupe.measurement import CameraState, Parameters
    from dotloupe.patch import Region

TONES = {"mid": "middle"}
"""What a sentence calls a tone of edges, where its name in data is short."""

BETTER = {"higher": "more is better", "lower": "less is better"}

_CRITERIA = {**CRITERIA, **CONTRAST_CRITERIA, **PICTURE_CRITERIA, OVERALL.name: OVERALL}
_BREAKING = {"Cc", "Cf", "Cs", "Co", "Zl", "Zp"}


def phrase(criterion: str, title: str = "") -> str:
    """Return what a sentence calls a criterion, by its name in JSON."""
    known = _CRITERIA.get(criterion)
    return known.measurand.phrase if known else title[:1].lower() + title[1:] or criterion


def shown(text: str) -> str:
    """Return text from a file name or a label with control and direction characters shown as ·.

    A folder's name may hold escape sequences or turn the direction of what follows it.
    """
    return "".join("·" if unicodedata.category(c) in _BREAKING else c for c in text)


def short(text: str, most: int = 28) -> str:
    """Return text cut in the middle to at most `most` characters."""
    text = " ".join(shown(text).split())
    if len(text) <= most:
        return text
    tail = most // 3
    return f"{text[: most - tail - 1].rstrip()}…{text[-tail:].lstrip()}"


def named(text: str, most: int = 28) -> str:
    """Return a name to stand in a sentence, cut as `short` does.

    A name written from right to left is isolated (Unicode annex 9), so that it does not turn the
    words and figures beside it.
    """
    text = short(text, most)
    if any(unicodedata.bidirectional(c) in ("R", "AL") for c in text):
        return f"\u2068{text}\u2069"
    return text


def quoted(text: str, most: int = 28) -> str:
    """Return a name that a person gave in quotation marks, cut as `short` does."""
    return f"“{named(text, most)}”"


def listed(names: Iterable[str], joint: str = "and") -> str:
    """Return names as a phrase: `a`, `a and b`, `a, b and c`."""
    names = list(names)
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} {joint} {names[-1]}"


def counted(count: int, noun: str) -> str:
    """Return the count with its noun, in the plural where it is not one."""
    return f"{count} {noun}{'' if count == 1 else 's'}"


def sentence(text: str) -> str:
    """Return text with a capital at its start."""
    return text[:1].upper() + text[1:]


def tint_tick(tone: str) -> str:
    """Return the name of a tint for an axis, on two lines where it has two parts."""
    percent = reflected_percent(tone)
    return tone.replace("_", "\n") if percent is None else f"reflects\n{percent} %"


def element_name(region: Region) -> str:
    """Return the name of a patch's element for people."""
    if region.kind == "bars":
        return f"bars along {region.direction}, {region.frequency:.2f} lp/mm"
    if region.kind == "edge":
        tone = TONES.get(region.tone, region.tone)
        return f"edge along {region.direction}, {tone} tones, no. {region.number}"
    if region.kind == "tint":
        return f"tint, {tint_title(region.tone)}"
    if region.kind == "grating":
        contrast = f"{100 * region.modulation:g} % contrast"
        return f"grating along {region.direction}, {region.frequency:.2f} lp/mm, {contrast}"
    if region.kind == "plain":
        return f"plain tint among gratings, {region.tone}, no. {region.number}"
    if region.kind == "line":
        return f"line along {region.direction}, {region.ink}, no. {region.number}"
    if region.kind == "mark":
        return f"corner mark, {CORNERS[region.number - 1]}"
    return {"text": "lettering", "code": "code", "texture": "texture"}.get(region.kind, region.kind)


def difference_place_name(number: int, place: DifferencePlace) -> str:
    """Return what a place is called where two settings differ to the eye."""
    two = " and ".join(quoted(s) for s in place.settings)
    return f"difference {number}: {two}, {place.difference:.1f} CIELAB"


def camera_cost_text(percent: float) -> str:
    """Say how far below the print's own detail a number lies at most that includes the camera.

    Parameters
    ----------
    percent : float
        Share of detail that the camera takes at most.
    """
    above = 100 / (100 - percent) * 100 - 100
    return (
        f"Camera and lens take at most {percent:.0f} % of detail, unless the file was sharpened. "
        f"The print's own detail may be up to {above:.0f} % higher than values that include the "
        "camera"
    )


def camera_text(state: CameraState | None) -> str:
    """Return whether the camera is in a number; empty where that plays no part."""
    return "" if state is None else f"camera {state.value}"


def camera_source_text(parameters: Parameters) -> str:
    """Where the response of a camera that was taken out comes from; empty of a reference edge."""
    return "" if parameters.camera_by_scale is None else " (camera from two distances)"
