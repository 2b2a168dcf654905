"""What sentences and tables call the further numbers of a measurement."""

from __future__ import annotations

from dotloupe.number import CRITERIA, PICTURE_CRITERIA, Measurand, Quantity
from dotloupe.patch import PAPER_TONE, grey_reflectance

OF_TINTS = {
    Quantity.VISUAL_GRAININESS: "Visible grain",
    Quantity.GRAININESS: "Graininess",
    Quantity.MOTTLE: "Mottle",
    Quantity.BANDING: "Banding",
    Quantity.RMS_GRANULARITY: "Rms granularity",
    Quantity.DOTS: "Dots",
    Quantity.DOT_EVENNESS: "Evenness of dots",
    Quantity.DOT_SPACING: "Spacing of dots",
}
ALONG_AXES = {
    Quantity.DETAIL: "Detail along {} in dark tones (MTF50)",
    Quantity.TEXTURE_KEPT: "Texture kept along {}",
    Quantity.RAGGEDNESS: "Raggedness of black lines along {}",
    Quantity.LINE_WIDTH: "Width of black lines along {}",
    Quantity.PASSES_APART: "Passes apart along {}",
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


def number_title(measurand: Measurand) -> str:
    """Return what a number is called where it stands by itself, as in the list of one capture."""
    criterion = CRITERIA.get(measurand.name) or PICTURE_CRITERIA.get(measurand.name)
    if criterion is not None:
        return criterion.title
    if measurand.quantity in OF_TINTS:
        return f"{OF_TINTS[measurand.quantity]}, {tint_said(measurand.tone)}"
    if measurand.quantity is Quantity.OFFSET:
        ink = measurand.ink.replace("_", " ").capitalize()
        return f"{ink} against black along {measurand.axis}"
    return ALONG_AXES[measurand.quantity].format(measurand.axis)


def number_said(measurand: Measurand) -> str:
    """Return what a number is called under the heading of its group.

    An offset goes by its ink, and the visible grain of a tint by the tint.
    """
    if measurand.quantity is Quantity.VISUAL_GRAININESS:
        return tint_said(measurand.tone)
    what = measurand.ink or measurand.quantity.value
    return f"{what} along {measurand.axis}".replace("_", " ")
