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
    ApertureUnknown,
    CameraBeatsIdeal,
    FedTurned,
    FocusDoubtful,
    MarkedByHand,
    NothingMeasured,
    OtherCamera,
    PlaceWasOff,
    PrintedSizeUnknown,
    RegionNotMeasured,
    RunRepeated,
    ScalesNotUsed,
)
from dotloupe.fitness import Finding
from dotloupe.registration import CodeUnread, PrintedScale
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
        f"{caution.kind} discards fine detail and grain to save space. "
        "Photograph as raw, or as JPEG of the best quality."
    )


@caution_text.register
def _camera_tone_curve(_: CameraToneCurve) -> str:
    return (
        "a camera's own JPEG: its contrast curve may lift visible grain by 14 %, in dark tones by "
        "30 %. Photograph as raw; or add one photograph at half the exposure, under the same "
        "name with _half at the end"
    )


@caution_text.register
def _tone_by_exposures(caution: ToneByExposures) -> str:
    return (
        f"the tone curve was removed by the two exposures of {caution.pair_name}; without it they "
        f"differ by their ratio within {100 * caution.misfit:.1f} %"
    )


@caution_text.register
def _bilinear_colours(_: BilinearColours) -> str:
    return (
        "the sensor's mosaic is not two by two: its colours were interpolated bilinearly, which "
        "blurs"
    )


@caution_text.register
def _nothing_measured(_: NothingMeasured) -> str:
    return "no element of the patch could be measured"


@caution_text.register
def _marked_by_hand(_: MarkedByHand) -> str:
    return "measured in regions marked by hand on a picture of your own"


@caution_text.register
def _region_not_measured(c: RegionNotMeasured) -> str:
    return f"{c.region}: {c.why}"


@caution_text.register
def _place_was_off(c: PlaceWasOff) -> str:
    return (
        f"the photograph was first placed {c.picture_px:.2f} picture pixels off, more than "
        f"{c.harmless_px:g}; this was corrected"
    )


@caution_text.register
def _fed_turned(_: FedTurned) -> str:
    return "fed turned by 90 degrees, as stated: x and y are the printer's, not the patch's"


@caution_text.register
def _aperture_unknown(_: ApertureUnknown) -> str:
    return (
        "The camera was found from two distances, but the files do not state aperture and pixel "
        "pitch. The change of diffraction with distance is left in: at f/8 or wider it is small."
    )


@caution_text.register
def _focus_doubtful(c: FocusDoubtful) -> str:
    return (
        f"{c.path}: this photograph gives the camera's response, and may be soft. Focus, tilt or "
        "shake would count as the camera's own; photograph it again."
    )


@caution_text.register
def _camera_beats_ideal(_: CameraBeatsIdeal) -> str:
    return (
        "The camera found from two distances is sharper than its pixels and aperture allow. "
        "Sharpening, or a nearer photograph less in focus, may cause it; use raw files and refocus."
    )


@caution_text.register
def _other_camera(_: OtherCamera) -> str:
    return (
        "Camera, lens or aperture differ from those of the two distances, so the camera's softness "
        "stays in. Photograph all prints with the same camera, lens and aperture."
    )


@caution_text.register
def _scales_not_used(c: ScalesNotUsed) -> str:
    return f"The two distances do not give the camera's response here: {c.why}."


@caution_text.register
def _printed_size_unknown(_: PrintedSizeUnknown) -> str:
    return (
        "the printed size of the picture is unknown: detail is in cycles per picture pixel; give "
        "the width of the print"
    )


@caution_text.register
def _code_unread(_: CodeUnread) -> str:
    return (
        "The patch's code cannot be read, so the ppi sent is unknown. "
        "Photograph the code in focus and without glare."
    )


@caution_text.register
def _printed_scale(c: PrintedScale) -> str:
    source = "as you measured" if c.told else "by the scan's resolution"
    return (
        f"Printed at {c.percent:.1f} %, {c.width_mm:.2f} mm over the corner marks, {source}. "
        "Numbers are in true millimetres; the driver resampled the file, so print at 100 %."
    )


@caution_text.register
def _run_repeated(c: RunRepeated) -> str:
    return (
        f"The file shows {c.times} patches of run {c.run}. "
        "Each counts as a separate print; use other run numbers for other settings."
    )


for _sentences in (compare_caution, measure_caution):
    for _kind, _sentence in _sentences.registry.items():
        if _kind is not object:
            caution_text.register(_kind, _sentence)


def caution_texts(cautions: Iterable[Caution]) -> tuple[str, ...]:
    """Return what each caution says to a person."""
    return tuple(caution_text(c) for c in cautions)
