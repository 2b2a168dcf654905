"""The sentence of each kind of caution: what is seen, what may cause it, what to do."""

from __future__ import annotations

from functools import singledispatch
from typing import TYPE_CHECKING

from dotloupe.capture import (
    BilinearColours,
    CameraToneCurve,
    CompressedWithLoss,
    NoProfile,
    Simulated,
    ToneByExposures,
    UnusableProfile,
)
from dotloupe.cautions import Caution, Stated
from dotloupe.evaluate import (
    MarkedByHand,
    NothingMeasured,
    PlaceWasOff,
    PrintedSizeUnknown,
    RegionNotMeasured,
    RunRepeated,
)
from dotloupe.fitness import Finding
from dotloupe.registration import CodeUnread
from dotloupe.report.text.compare_cautions import compare_caution
from dotloupe.report.text.element_cautions import measure_caution
from dotloupe.report.text.fitness_warnings import finding_text

if TYPE_CHECKING:
    from collections.abc import Iterable


@singledispatch
def caution_text(caution: Caution) -> str:
    """Return what a caution says to a person.

    Raises
    ------
    NotImplementedError
        A kind of caution for which no sentence was written.
    """
    raise NotImplementedError(f"no sentence for {type(caution).__name__}")


caution_text.register(Finding, finding_text)


@caution_text.register
def _stated(c: Stated) -> str:
    return c.message


@caution_text.register
def _simulated(_: Simulated) -> str:
    return "simulated: no printer printed it and no camera saw it"


@caution_text.register
def _no_profile(_: NoProfile) -> str:
    return "no colour profile in the file: read as sRGB"


@caution_text.register
def _unusable_profile(_: UnusableProfile) -> str:
    return "the file's colour profile cannot be used: read as sRGB"


@caution_text.register
def _compressed_with_loss(caution: CompressedWithLoss) -> str:
    return (
        f"{caution.kind} gives up fine detail and grain for a small file. "
        "Photograph as raw, or as JPEG of the best quality."
    )


@caution_text.register
def _camera_tone_curve(_: CameraToneCurve) -> str:
    return (
        "a camera's own JPEG: its contrast curve may lift visible grain by 14 %, in dark tones by "
        "30 %. Photograph as raw; or add one photograph at half the exposure, named as its equal "
        "with _half at the end"
    )


@caution_text.register
def _tone_by_exposures(caution: ToneByExposures) -> str:
    return (
        f"tone curve taken out by the two exposures of {caution.pair_name}, which it brings to "
        f"their ratio within {100 * caution.misfit:.1f} %"
    )


@caution_text.register
def _bilinear_colours(_: BilinearColours) -> str:
    return "not a mosaic of two by two: interpolated bilinearly, which blurs"


@caution_text.register
def _nothing_measured(_: NothingMeasured) -> str:
    return "no element of the patch could be measured"


@caution_text.register
def _marked_by_hand(_: MarkedByHand) -> str:
    return "measured in regions marked by hand on an own picture"


@caution_text.register
def _region_not_measured(c: RegionNotMeasured) -> str:
    return f"{c.region}: {c.why}"


@caution_text.register
def _place_was_off(c: PlaceWasOff) -> str:
    return (
        f"the place found in the picture was off by {c.picture_px:.2f} picture pixels, more than "
        f"{c.harmless_px:g}; it was taken out"
    )


@caution_text.register
def _printed_size_unknown(_: PrintedSizeUnknown) -> str:
    return (
        "the printed size of the picture is unknown: detail is in cycles per picture pixel; give "
        "its print's width"
    )


@caution_text.register
def _code_unread(_: CodeUnread) -> str:
    return (
        "The patch's code cannot be read, so the ppi sent is unknown. "
        "Photograph the code in focus and without glare."
    )


@caution_text.register
def _run_repeated(c: RunRepeated) -> str:
    return (
        f"The file shows {c.times} patches of run {c.run}. "
        "Each is taken for a print of its own; give prints of other settings other runs."
    )


for _sentences in (compare_caution, measure_caution):
    for _kind, _sentence in _sentences.registry.items():
        if _kind is not object:
            caution_text.register(_kind, _sentence)


def caution_texts(cautions: Iterable[Caution]) -> tuple[str, ...]:
    """Return what each caution says to a person."""
    return tuple(caution_text(c) for c in cautions)
