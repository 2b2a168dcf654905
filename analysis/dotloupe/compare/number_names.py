"""What sentences and tables call the further numbers of a measurement."""

from __future__ import annotations

from dotloupe.measurement import CRITERIA, PICTURE_CRITERIA
from dotloupe.patch import PAPER_TONE, grey_reflectance

VISIBLE_GRAIN = "visual_graininess_"
OF_TINTS = {
    VISIBLE_GRAIN: "Visible grain",
    "graininess_": "Graininess",
    "mottle_": "Mottle",
    "rms_granularity_": "Rms granularity",
    "dots_": "Dots",
    "dot_evenness_": "Evenness of dots",
    "dot_spacing_": "Spacing of dots",
}
ALONG_AXES = {
    "detail_dark": "Detail along {} in dark tones (MTF50)",
    "texture_kept": "Texture kept along {}",
    "raggedness": "Raggedness of black lines along {}",
    "line_width": "Width of black lines along {}",
    "passes_apart": "Passes apart along {}",
}


def reflected_percent(tint: str) -> int | None:
    """Return what a grey reflects of what paper does, in per cent; None of another tint."""
    tone = tint.removeprefix("tint_")
    reflectance = grey_reflectance(tone)
    return None if reflectance is None or tone == PAPER_TONE else round(100 * reflectance)


def tint_said(tint: str) -> str:
    """Return the name of a tint: `grey80` is the grey that reflects 80 % of what paper does."""
    percent = reflected_percent(tint)
    if percent is not None:
        return f"grey that reflects {percent} %"
    return tint.removeprefix("tint_").replace("_", " ")


def number_title(name: str) -> str:
    """Return what a number is called where it stands by itself, as in the list of one capture."""
    criterion = CRITERIA.get(name) or PICTURE_CRITERIA.get(name)
    if criterion is not None:
        return criterion.title
    for start, said in OF_TINTS.items():
        if name.startswith(start):
            return f"{said}, {tint_said(name.removeprefix(start))}"
    stem, _, axis = name.rpartition("_")
    ink = stem.removeprefix("offset_").replace("_", " ").capitalize()
    return ALONG_AXES.get(stem, f"{ink} against black along {{}}").format(axis)


def number_said(name: str) -> str:
    """Return what a number is called under the heading of its group.

    `offset_cyan_x` is cyan along x, and the visible grain of a tint goes by the tint.
    """
    if name.startswith(VISIBLE_GRAIN):
        return tint_said(name.removeprefix(VISIBLE_GRAIN))
    stem, _, axis = name.removeprefix("offset_").rpartition("_")
    said = f"{stem} along {axis}" if axis in ("x", "y") else name
    return said.replace("_", " ")
