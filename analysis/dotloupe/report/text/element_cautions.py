"""The sentence of each caution about a measurement."""

from __future__ import annotations

from functools import singledispatch

from dotloupe.cautions import Caution
from dotloupe.measure.bars import (
    BarsInSpaces,
    BarsLostInGrain,
    BarsMiscounted,
    BarsOutOfPhase,
    ContrastTooLow,
    FewPixelsPerLinePair,
    PeriodDiffers,
)
from dotloupe.measure.dots import DotSizeBlurred, DotsTooSmall, DotsTouch
from dotloupe.measure.edge import (
    BlurReachesEnds,
    CameraReference,
    CrossingNotMeasured,
    EdgeOvershoots,
    EdgesDisagree,
    EdgesSetApart,
    LightFarFromEdge,
    MtfEndsEarly,
    ReferenceRunsOtherwise,
    TailContinued,
)
from dotloupe.measure.grain import (
    CameraBlurIncluded,
    CameraNoiseEstimated,
    CameraNoiseIncluded,
    FixedPatternMayRemain,
    MostlyPaper,
    PaperFromOneShot,
    PaperIncluded,
    RegionBelowStandard,
    ShotTurned,
)
from dotloupe.measure.lines import NarrowLine
from dotloupe.measure.texture import RegistrationVaries


@singledispatch
def measure_caution(caution: Caution) -> str:
    """Return what a caution about a measurement says to a person."""
    raise NotImplementedError(f"no sentence for {type(caution).__name__}")


@measure_caution.register
def _camera_reference(_: CameraReference) -> str:
    return "This is the response of the camera, from a reference edge."


@measure_caution.register
def _mtf_ends_early(c: MtfEndsEarly) -> str:
    return (
        f"The MTF ends at {c.frequency:.3g} cycles/mm: above it the camera passes less than "
        f"{100 * c.least_transfer:.0f} % of the contrast, or is not known."
    )


@measure_caution.register
def _tail_continued(_: TailContinued) -> str:
    return (
        "The edge's tail falls with the square of the distance; it is extrapolated beyond the "
        "region."
    )


@measure_caution.register
def _reference_runs_otherwise(c: ReferenceRunsOtherwise) -> str:
    return (
        f"The camera's reference edge was {c.reference}, this edge is {c.edge}. "
        "Photograph a reference edge in each direction."
    )


@measure_caution.register
def _crossing_not_measured(c: CrossingNotMeasured) -> str:
    return f"The MTF stays above {100 * c.level:.0f} % up to the highest frequency measured."


@measure_caution.register
def _edge_overshoots(c: EdgeOvershoots) -> str:
    return (
        f"The edge overshoots by {100 * c.share:.0f} % of its step. The camera, its software or "
        "the printer's driver may sharpen. Send files that the camera has not sharpened."
    )


@measure_caution.register
def _blur_reaches_ends(_: BlurReachesEnds) -> str:
    return "The blur reaches the ends of the region, so the MTF reads high. Take a wider region."


@measure_caution.register
def _light_far_from_edge(c: LightFarFromEdge) -> str:
    return (
        f"{100 * c.share:.1f} % of the step lies far from the edge. Glare, light spread in the "
        "paper or uneven light may cause it. Light the sheet evenly, without glare."
    )


@measure_caution.register
def _edges_disagree(c: EdgesDisagree) -> str:
    return f"The edges disagree: MTF50 of {_listed(c.mtf50)} cycles/mm."


@measure_caution.register
def _edges_set_apart(c: EdgesSetApart) -> str:
    return (
        "Left out because they disagree with the other edges: "
        + ", ".join(
            f"edge {n} with {value:.3g} cycles/mm"
            for n, value in zip(c.numbers, c.mtf50, strict=True)
        )
        + "."
    )


@measure_caution.register
def _contrast_too_low(c: ContrastTooLow) -> str:
    return f"The contrast is {c.contrast:.3f}, not above {c.threshold:g}."


@measure_caution.register
def _bars_miscounted(c: BarsMiscounted) -> str:
    return f"{c.found} bars stand out where {c.drawn} were drawn."


@measure_caution.register
def _bars_in_spaces(_: BarsInSpaces) -> str:
    return "Bars lie where spaces were drawn."


@measure_caution.register
def _bars_out_of_phase(c: BarsOutOfPhase) -> str:
    return f"The bars lie {abs(c.phase_deg):.0f} degrees of a period from where they were drawn."


@measure_caution.register
def _bars_lost_in_grain(_: BarsLostInGrain) -> str:
    return "The bars do not stand clear of the grain."


@measure_caution.register
def _period_differs(_: PeriodDiffers) -> str:
    return "The period found is not the one asked for. Check the frequency and the sampling."


@measure_caution.register
def _few_pixels_per_line_pair(c: FewPixelsPerLinePair) -> str:
    return f"A line pair has only {c.pixels:.1f} pixels. Photograph closer."


@measure_caution.register
def _dots_too_small(c: DotsTooSmall) -> str:
    return f"A dot has {c.pixels_per_dot:.1f} pixels, too few to separate dots. Photograph closer."


@measure_caution.register
def _dot_size_blurred(c: DotSizeBlurred) -> str:
    return (
        f"A dot has {c.pixels_per_dot:.1f} pixels, so its size is mostly blur. Photograph closer."
    )


@measure_caution.register
def _dots_touch(c: DotsTouch) -> str:
    return f"{100 * c.share:.0f} % of the dots touch others. Take a lighter tint."


@measure_caution.register
def _narrow_line(c: NarrowLine) -> str:
    return f"The line is only {c.pixels:.1f} pixels wide. Photograph closer."


@measure_caution.register
def _registration_varies(c: RegistrationVaries) -> str:
    return (
        f"Registration varies by {c.pixels:.1f} pixels over the texture. Photograph the sheet flat."
    )


@measure_caution.register
def _region_below_standard(c: RegionBelowStandard) -> str:
    return (
        f"The region is {c.width_mm:.1f} x {c.height_mm:.1f} mm, less than the "
        f"{c.standard_mm:g} mm of the hardcopy standards. Below "
        f"{1 / min(c.width_mm, c.height_mm):.2f} cycles/mm, mottle is extrapolated from "
        "higher frequencies."
    )


@measure_caution.register
def _fixed_pattern_may_remain(_: FixedPatternMayRemain) -> str:
    return (
        "Fixed-pattern noise of the sensor is removed only if the print moved in the frame between "
        "the two shots."
    )


@measure_caution.register
def _shot_turned(c: ShotTurned) -> str:
    return (
        f"The second shot was turned or scaled by {c.pixels:.1f} pixels at its corners; it was "
        "laid on the first."
    )


@measure_caution.register
def _paper_included(_: PaperIncluded) -> str:
    return "The texture of the paper is part of the grain. Give blank paper to take it out."


@measure_caution.register
def _camera_blur_included(_: CameraBlurIncluded) -> str:
    return "The blur of the camera is not taken out."


@measure_caution.register
def _mostly_paper(c: MostlyPaper) -> str:
    return (
        f"{100 * c.share:.0f} % of the visible noise power is that of the paper or the camera. "
        "The print's own grain is a small difference, uncertain by tens of per cent."
    )


@measure_caution.register
def _camera_noise_included(c: CameraNoiseIncluded) -> str:
    return (
        f"Camera noise is not removed: if white, at most {100 * c.share:.0f} % of the visible "
        "noise power. Give a second shot of the same print."
    )


@measure_caution.register
def _paper_from_one_shot(_: PaperFromOneShot) -> str:
    return "The texture of the paper is known from one shot, minus camera noise assumed white."


@measure_caution.register
def _camera_noise_estimated(_: CameraNoiseEstimated) -> str:
    return (
        "Camera noise is estimated from blank paper in one shot and assumed white. A second shot "
        "of the same print would tell more."
    )


def _listed(values: tuple[float, ...]) -> str:
    return ", ".join(f"{value:.3g}" for value in values)
