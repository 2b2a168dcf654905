"""The sentence of each finding on a capture: what is seen, what may cause it, what to do."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import singledispatch
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.fitness import (
    BLOCK_PX,
    PIXELS_PER_PAIR,
    Curled,
    Evidence,
    Fault,
    Finding,
    Moved,
    PictureSampling,
    Refused,
    Softer,
    SofterThan,
    Stretched,
    Symptom,
    Tilted,
    WrongSize,
)

if TYPE_CHECKING:
    from dotloupe.registration import Registration

WOULD_TELL = "a reference edge, a second photograph or a nearer frame would settle it"
FOCUS_ANEW = "refocus on the print's dots at full magnification"
EVEN_LIGHT = "light it evenly from two sides, or give a photograph of blank paper (--blank)"
UNSHARPENED = "store raw files, or turn sharpening off"


def finding_text(finding: Finding) -> str:
    """Return what is seen, what may cause it and what to do.

    Parameters
    ----------
    finding : Finding
        One that is not fine.
    """
    if finding.evidence is not None:
        return _evidence_text(finding.evidence, finding)
    return _TEXTS[finding.limits.symptom](finding)


def _possible_loss(finding: Finding) -> str:
    """Say what may have blurred the print, and how much of its MTF50 that may have cost."""
    if finding.fault is Fault.UNEVEN_FOCUS:
        return (
            "its corners look softer than the rest, which may cost up to "
            f"{finding.value:.0f} % of MTF50 or fine grain: a curled sheet or the lens, or the "
            f"print itself; {WOULD_TELL}"
        )
    return (
        "no edge or dot is sharp enough to rule out a camera out of focus or moved, "
        f"which may cost up to {finding.value:.0f} % of MTF50 or fine grain; {WOULD_TELL}"
    )


def place_text(registration: Registration) -> str:
    """Return where a photograph was found in its picture, and the finest detail it can show.

    Parameters
    ----------
    registration : Registration
        Of the capture on its picture.
    """
    scale = f"{registration.pixels_per_picture_px:.2f} camera pixels per picture pixel"
    fine = registration.pixels_per_mm / PIXELS_PER_PAIR
    if np.isfinite(fine):
        reach = f"{registration.pixels_per_mm:.1f} per mm, which resolve up to {fine:.1f} lp/mm"
    else:
        pairs = registration.pixels_per_picture_px / PIXELS_PER_PAIR
        reach = f"which resolve up to {pairs:.2f} line pairs per picture pixel"
    residual = registration.residual_px / registration.pixels_per_picture_px
    return f"found in the picture: {scale}, {reach}; follows it to {residual:.2f} picture pixels"


def _sampling(finding: Finding) -> str:
    per_mm = PIXELS_PER_PAIR * finding.value
    reach, asked = _set_apart(finding.value, finding.limits.warning)
    return (
        f"{per_mm:.0f} pixels/mm reliably resolve line pairs up to {reach} lp/mm; the print may "
        f"hold {asked}: too far away, or too few pixels; photograph closer"
    )


def _set_apart(*numbers: float) -> tuple[str, ...]:
    """Numbers with as few decimals as show that they differ, one at least."""
    for decimals in range(1, 4):
        texts = tuple(f"{number:.{decimals}f}" for number in numbers)
        if len(set(texts)) == len(texts):
            break
    return texts


@singledispatch
def _evidence_text(evidence: Evidence, _finding: Finding) -> str:
    raise NotImplementedError(f"no sentence for {type(evidence).__name__}")


@_evidence_text.register
def _(evidence: Refused, _finding: Finding) -> str:
    return evidence.why


@_evidence_text.register
def _(evidence: PictureSampling, finding: Finding) -> str:
    return (
        f"{evidence.pixels_per_picture_px:.2f} camera pixels per picture pixel resolve no "
        f"more than {finding.value:.2g} {finding.unit}, and the print may hold "
        f"{finding.limits.warning:.2g}: too far away, or too few pixels; photograph closer"
    )


@_evidence_text.register
def _(evidence: Stretched, finding: Finding) -> str:
    longer = "wide" if evidence.longer == "x" else "high"
    return (
        f"the patch is {finding.value:.1f} % too {longer}: scaled in printing, or photographed at "
        "an angle; print it unscaled, and lay the sheet square to the lens"
    )


@_evidence_text.register
def _(evidence: WrongSize, finding: Finding) -> str:
    size = "large" if evidence.too_large else "small"
    return (
        f"by the file's own resolution the patch is printed {finding.value:.1f} % too {size}: the "
        "driver scaled it, or the file states a wrong resolution; print it at 100 %, unscaled"
    )


@_evidence_text.register
def _(evidence: Softer, finding: Finding) -> str:
    return (
        f"{evidence.place} softer by {finding.value:.0f} %: the sheet lies flat and level, so the "
        "lens is softer there; stop down"
    )


@_evidence_text.register
def _(evidence: Tilted, finding: Finding) -> str:
    return (
        f"{evidence.place} softer by {finding.value:.0f} %: its {evidence.nearer} lies "
        f"{evidence.height_mm:.1f} mm nearer to the lens, if that is {evidence.distance_mm:.0f} mm "
        "away; level the sheet or camera, or stop down"
    )


@_evidence_text.register
def _(evidence: Curled, finding: Finding) -> str:
    way = "nearer to" if evidence.corners_mm > 0 else "further from"
    return (
        f"{evidence.place} softer by {finding.value:.0f} %: its corners lie "
        f"{abs(evidence.corners_mm):.1f} mm {way} the lens than its middle, if that is "
        f"{evidence.distance_mm:.0f} mm away; press the sheet flat, or stop down"
    )


@_evidence_text.register
def _(evidence: SofterThan, finding: Finding) -> str:
    return (
        f"softer by {finding.value:.0f} % than {evidence.sharpest}, which shows the same file: out "
        f"of focus or moved, or a print that came out softer; {FOCUS_ANEW}"
    )


@_evidence_text.register
def _(evidence: Moved, finding: Finding) -> str:
    printer = "" if finding.blamed else ", or the printer is softer that way"
    return (
        f"blurred by some {evidence.travel_um:.0f} um {evidence.direction}: the camera or the "
        f"sheet moved{printer}; use a remote release, a heavier stand or flash"
    )


_TEXTS: Mapping[Symptom, Callable[[Finding], str]] = {
    Symptom.FINEST_LINE_PAIR: _sampling,
    Symptom.UNDEREXPOSURE: lambda f: (
        f"the paper lies {f.value:.1f} stops below full scale: too little light, or too short an "
        "exposure; expose longer"
    ),
    Symptom.PAPER_AT_FULL: lambda f: (
        f"{f.value:.1f} % of the paper is at full scale: overexposed, or lightened in development; "
        "expose less"
    ),
    Symptom.BLACK_AT_ZERO: lambda f: (
        f"{f.value:.0f} % of the black is at zero: cut off in development; develop without a "
        "black point or contrast curve"
    ),
    Symptom.JPEG_STEP: lambda f: (
        f"the JPEG rounds to steps of {f.value:.0f}: overcompressed; store raw files or JPEG "
        "of the best quality"
    ),
    Symptom.BLOCK_STEP: lambda f: (
        f"steps between blocks of {BLOCK_PX} pixels are {f.value:.1f} times those within: saved "
        f"once as a small JPEG{'' if f.blamed else ', or a halftone of that pitch'}; go back to "
        "the camera's own file"
    ),
    Symptom.LIGHT_FALL: lambda f: (
        f"the light changes by {f.value:.0f} % over the patch: a lamp too near, or on one side "
        f"only; {EVEN_LIGHT}"
    ),
    Symptom.LIGHT_PATCHES: lambda f: (
        f"the light is patchy by {f.value:.1f} % over the patch: shadows or reflections; "
        f"{EVEN_LIGHT}"
    ),
    Symptom.STEEPEST_EDGE: lambda f: (
        f"even the sharpest edges are blurred by {f.value:.0f} um: out of focus, or ink that "
        f"spreads; {FOCUS_ANEW}"
    ),
    Symptom.POSSIBLE_LOSS: _possible_loss,
    Symptom.OVERSHOOT: lambda f: (
        f"edges overshoot by {f.value:.0f} %: sharpened by the camera, its software or the "
        f"printer's driver; {UNSHARPENED}, and check whether it remains"
    ),
    Symptom.POSSIBLE_GAIN: lambda f: (
        "sharpening by the camera or its software could raise MTF50 or visible grain by up to "
        f"{f.value:.0f} % unseen at this scale; a raw file or a nearer frame would settle it"
    ),
    Symptom.NOISE_RISE: lambda f: (
        f"the noise of blank paper rises {f.value:.2f} times with frequency: sharpened by the "
        f"camera or its software; {UNSHARPENED}"
    ),
    Symptom.NOT_COMPARABLE: lambda _: (
        "its detail is lost in grain and noise throughout: out of focus, or a place without "
        "detail; refocus, or photograph another place"
    ),
    Symptom.OUT_OF_PLACE: lambda f: (
        f"parts of it lie {f.value:.2f} pixels from where the rest predicts: a bent or tilted "
        "sheet, or a lens that distorts; lay the sheet flat, and the sensor parallel to it"
    ),
}
"""By the number that shows the fault, where it says all that there is to say."""
