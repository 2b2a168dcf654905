"""A photograph of the print of one's own picture, measured: what was sent against what came out."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.cautions import Caution
from dotloupe.errors import NotFitError, RegionError
from dotloupe.evaluate.cautions import PlaceWasOff, PrintedSizeUnknown
from dotloupe.evaluate.elements import AXES
from dotloupe.fitness import (
    CONTENT,
    PLACE,
    Fault,
    Finding,
    Fitness,
    Refused,
    frame_findings,
    place_findings,
)
from dotloupe.measure.texture import (
    DirectionTransfer,
    Transfer,
    half_response,
    halo,
    transfer,
)
from dotloupe.measurement import (
    Measurement,
    OwnPicture,
    Parameters,
    PictureMeasurement,
    not_fit,
    print_id,
)
from dotloupe.number import Measurand, Number, Quantity
from dotloupe.registration import Registration, marks_in_sight, register_on_picture
from dotloupe.registration.picture import picture_grid
from dotloupe.units import MM_PER_INCH

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dotloupe.capture import Capture, Lighting, SentPicture
    from dotloupe.patch import Axis
    from dotloupe.registration import FoundMarks, PlacedFrame, SmallPicture

COHERENCE_LEVEL = 0.5
BLOCK_PICTURE_PX = 48.0
LEAST_BLOCK_MM = 3.0
LEAST_BLOCK_PX = 32
BLOCKS_A_SIDE = 3.0
"""The shorter side of the frame holds at least so many blocks."""
GRID_END = 0.45
"""Cycles per grid pixel up to which a photograph's pixels are asked."""
PICTURE_END = 0.48
"""Cycles per picture pixel up to which a picture holds anything."""
HARMFUL_SHIFT_PX = 0.15
"""Picture pixels out of register that spoil a cross-spectrum's real part (Sumner et al. 2017)."""
PERCENT = 100.0
NOMINAL_PPI = 300.0
"""Stands in for the resolution of a picture whose printed size is unknown, as a mere unit."""


def compare_with_picture(
    capture: Capture, picture: SentPicture, registration: Registration
) -> OwnPicture:
    """|H| and coherence between a picture and the photograph of its print.

    Parameters
    ----------
    capture : Capture
    picture : SentPicture
    registration : Registration
        Of the capture on the picture.

    Raises
    ------
    RegionError
        Too little of the picture is in the frame, or it holds nothing to compare.
    """
    homography = registration.homography
    if registration.part is not None:
        rows, columns = registration.part
        picture = replace(picture, pixels=picture.pixels[rows, columns])
        homography = np.array([[1, 0, -columns.start], [0, 1, -rows.start], [0, 0, 1]]) @ homography
    grid = picture_grid(capture, picture, homography)
    picture_per_mm = (picture.ppi or NOMINAL_PPI) / MM_PER_INCH
    per_mm = grid.per_picture_px * picture_per_mm
    shorter = min(grid.sent.shape)
    wanted = max(BLOCK_PICTURE_PX * grid.per_picture_px, LEAST_BLOCK_MM * per_mm, LEAST_BLOCK_PX)
    side = min(wanted, max(shorter / BLOCKS_A_SIDE, LEAST_BLOCK_PX))
    found = transfer(
        grid.sent,
        grid.captured,
        per_mm,
        coherence_level=COHERENCE_LEVEL,
        block_mm=side / per_mm,
        turned_deg=grid.turned_deg,
        highest=min(PICTURE_END * picture_per_mm, GRID_END * per_mm),
    )
    off_px = float(np.hypot(*found.shift_px)) / grid.per_picture_px
    return OwnPicture(found, grid.per_picture_px, grid.turned_deg, off_px)


@dataclass(frozen=True)
class Examined:
    """A photograph of the print of one's own picture, and what it is fit for.

    Attributes
    ----------
    fitness : Fitness
    registration : Registration or None
        None where the picture was not found in it.
    found : OwnPicture or None
        None where it is not fit to be compared.
    numbers : mapping of str to Number
    """

    fitness: Fitness
    registration: Registration | None = None
    found: OwnPicture | None = None
    numbers: Mapping[str, Number] = field(default_factory=dict)


def examine_own_picture(
    capture: Capture, picture: SentPicture, marks: tuple[FoundMarks, ...] | None = None
) -> Examined:
    """Find a photograph in its picture by its content, compare the two, and judge it.

    Parameters
    ----------
    capture : Capture
    picture : SentPicture
    marks : tuple of FoundMarks, optional
        Those in sight, where they have been looked for.
    """
    checks = frame_findings(capture)
    try:
        found_marks = marks_in_sight(capture) if marks is None else marks
        registration = register_on_picture(capture, picture, found_marks)
    except NotFitError as error:
        lost = Finding(Fault.PLACE_IN_PICTURE, 1.0, PLACE, Refused(str(error)))
        return Examined(Fitness((*checks, lost)))
    fitness = Fitness((*checks, *place_findings(registration, picture.ppi)))
    if not fitness.fit:
        return Examined(fitness, registration)
    try:
        found = compare_with_picture(capture, picture, registration)
    except RegionError as error:
        why = Refused(str(error))
        refused = Finding(Fault.CONTENT, 1.0, CONTENT, why)
        return Examined(Fitness((*fitness.checks, refused)), registration)
    numbers = _numbers(found.transfer, picture.ppi)
    content = Finding(Fault.CONTENT, 0.0 if numbers else 1.0, CONTENT)
    return Examined(Fitness((*fitness.checks, content)), registration, found, numbers)


def measure_own_picture(
    capture: Capture, picture: SentPicture, marks: tuple[FoundMarks, ...] | None = None
) -> Measurement:
    """Numbers of a photograph of the print of one's own picture, found by its content.

    Parameters
    ----------
    capture : Capture
    picture : SentPicture
    marks : tuple of FoundMarks, optional
        As of `examine_own_picture`.

    Returns
    -------
    Measurement
        With `fit` False and the reasons where the picture cannot be found in it or compared.
    """
    seen = examine_own_picture(capture, picture, marks)
    if seen.found is None:
        return not_fit(capture, *seen.fitness.reasons)
    frame = None if seen.registration is None else seen.registration.frame
    lighting, small = (None, None) if frame is None else _look_of(capture, frame)
    return PictureMeasurement(
        path=capture.path,
        sha256=capture.sha256,
        print_id=print_id(capture.path),
        run=None if seen.registration is None else seen.registration.run,
        sent_ppi=None if seen.registration is None else seen.registration.sent_ppi,
        fit=bool(seen.numbers),
        reasons=() if seen.numbers else seen.fitness.reasons,
        warnings=(
            *capture.warnings,
            *seen.fitness.warnings,
            *comparison_cautions(seen.found, picture),
        ),
        numbers=seen.numbers,
        registration=seen.registration,
        own_picture=seen.found,
        lighting=lighting,
        small_picture=small,
        parameters=Parameters(
            picture=picture.path,
            picture_scale=picture.ppi_source or None,
            coherence_level=COHERENCE_LEVEL,
        ),
    )


def _look_of(capture: Capture, frame: PlacedFrame) -> tuple[Lighting, SmallPicture]:
    """Fall of the light over a frame, and its small picture."""
    from dotloupe.registration import paper_lighting, small_picture

    lighting = paper_lighting(capture, frame.patch, frame.homography)
    return lighting, small_picture(capture, frame.homography, lighting, frame.patch.size_mm)


def _numbers(found: Transfer, ppi: float | None) -> dict[str, Number]:
    unit, per = "cycles/mm", 1.0
    if ppi is None:
        unit, per = "cycles/picture pixel", MM_PER_INCH / NOMINAL_PPI
    numbers = []
    for axis in AXES:
        direction = found.x if axis == "x" else found.y
        if direction.kept is not None:
            (low, high), error = direction.kept_interval, direction.kept_uncertainty
            numbers.append(
                Number(
                    per * direction.kept,
                    per * low,
                    per * high,
                    unit,
                    Measurand(Quantity.PICTURE_KEPT, axis),
                    None if error is None else error.scaled(per),
                )
            )
        numbers += _beyond_the_picture(direction, axis)
        half = half_response(direction)
        if half is not None:
            (low, high), error = half.interval, half.uncertainty
            numbers.append(
                Number(
                    per * half.frequency,
                    per * low,
                    per * high,
                    unit,
                    Measurand(Quantity.RESPONSE, axis),
                    None if error is None else error.scaled(per),
                )
            )
    return {n.measurand.name: n for n in numbers if n.measurand is not None}


def _beyond_the_picture(direction: DirectionTransfer, axis: Axis) -> list[Number]:
    """What the print shows that the picture does not: halo, and structure of its own."""
    numbers = []
    found = halo(direction)
    if found is not None:
        low, high = (PERCENT * end for end in found.interval)
        measurand = Measurand(Quantity.HALO, axis)
        error = found.uncertainty.scaled(PERCENT)
        numbers.append(Number(PERCENT * found.share, low, high, "% of a step", measurand, error))
    error = direction.unrelated_uncertainty.scaled(PERCENT)
    value, half_width = PERCENT * direction.unrelated, error.half_width
    low, high = max(value - half_width, 0.0), value + half_width
    measurand = Measurand(Quantity.UNRELATED, axis)
    return [*numbers, Number(value, low, high, "% reflectance rms", measurand, error)]


def comparison_cautions(found: OwnPicture, picture: SentPicture) -> tuple[Caution, ...]:
    """What a reader of the numbers must know of the comparison."""
    cautions: list[Caution] = list(found.transfer.cautions)
    if found.off_px > HARMFUL_SHIFT_PX:
        cautions.append(PlaceWasOff(found.off_px, HARMFUL_SHIFT_PX))
    if picture.ppi is None:
        cautions.append(PrintedSizeUnknown())
    return tuple(cautions)
