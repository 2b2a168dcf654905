"""Fitness of a capture: everything looked at, and what is wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from dotloupe.capture import Capture
from dotloupe.fitness.exposure import pixel_findings
from dotloupe.fitness.finding import Fault, FaultLimits, Finding, Refused, Severity, Symptom
from dotloupe.fitness.focus import (
    FocusMap,
    camera_blur_at_most_um2,
    focus_findings,
    focus_map,
    most_lost,
)
from dotloupe.fitness.mark_places import mark_places
from dotloupe.fitness.motion import motion_findings
from dotloupe.fitness.processing import edge_blur_um2, processing_findings
from dotloupe.fitness.sheet_position import SheetPosition, find_sheet_position, geometry_findings
from dotloupe.fitness.steepest_edges import SteepestEdges, steepest_edges
from dotloupe.measure.edge import EdgeResponse
from dotloupe.registration import View, is_mirrored, patch_in_frame

UNEVEN_LIGHT = FaultLimits(
    Symptom.LIGHT_FALL,
    40.0,
    200.0,
    "% from darkest to brightest",
    "half a stop across the patch: its elements differ by as much in noise and exposure, and "
    "what a curve of the third degree leaves of a lamp's fall nears 1 %",
)
PATCHY_LIGHT = FaultLimits(
    Symptom.LIGHT_PATCHES,
    4.0,
    10.0,
    "% at one place in twenty",
    "small areas of paper vary by less than 2 % of their own, by 3 % beside the soft edges of few "
    "ppi; the rest is shadow or reflection, and goes into every tint as it is",
)
LIKE_UNEVEN_FOCUS = frozenset({Fault.SHARPENING, Fault.COMPRESSION, Fault.CLIPPED_LIGHT})
"""Faults that, where they make a capture unfit, change the grain of light tints more than of dark
ones, as a soft corner may; sharpening does so from its warning on."""
LIKE_SHADOWS = frozenset({Fault.COMPRESSION})
"""Faults that, where they make a capture unfit, make small areas of paper differ as shadows do."""
MARKS = FaultLimits(
    Symptom.NO_MARKS, 0.0, 0.0, "of four marks missing", "without one of them nothing has a place"
)
MIRROR = FaultLimits(
    Symptom.MIRRORED, 0.0, 0.0, "mirrored", "marks read from their other side are other marks"
)


class Verdict(StrEnum):
    """What may be done with a capture, by its names in JSON."""

    FIT = "fit"
    NOT_FIT = "not fit"
    CANNOT_TELL = "cannot tell"


ALL_LOST = 50.0
"""Per cent from which a bound says nothing: the steepest light is nearly as soft as the edges."""


@dataclass(frozen=True)
class Sharpness:
    """What a photograph shows of its sharpness, to be compared with others of its file.

    Attributes
    ----------
    edges : SteepestEdges
    edge_um2 : float
        Blur variance of the edges whose MTF50 counts.
    pixels_per_mm : float
    run, sent_ppi : int or None
        By the marks and the code: they name the file printed.
    size_mm : (float, float)
        Of the patch.
    """

    edges: SteepestEdges
    edge_um2: float
    pixels_per_mm: float
    run: int | None
    sent_ppi: float | None
    size_mm: tuple[float, float]


@dataclass(frozen=True)
class Fitness:
    """What was found on one capture.

    Attributes
    ----------
    checks : tuple of Finding
        Everything looked at, the fine ones too.
    focus : FocusMap or None
        How sharp the capture is over the patch; None where the patch was not found.
    sharpness : Sharpness or None
        By which it may be compared with others.
    """

    checks: tuple[Finding, ...]
    focus: FocusMap | None = None
    sharpness: Sharpness | None = None

    @property
    def camera_cost_percent(self) -> float | None:
        """Share of detail (MTF50) that the camera takes at most; None where that is not bounded.

        The camera blurs no more than the steepest light that the print shows in either axis.
        """
        if self.sharpness is None:
            return None
        at_most_um2 = camera_blur_at_most_um2(self.sharpness.edges)
        lost = most_lost(at_most_um2, self.sharpness.edge_um2)
        return lost if lost < ALL_LOST else None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What is wrong, the worst first, and then what cannot be told."""
        return (*self.reasons, *self.warnings, *self.untold)

    @property
    def fit(self) -> bool:
        """Whether numbers may be published, if with warnings."""
        return not self.reasons

    @property
    def reasons(self) -> tuple[Finding, ...]:
        """Why not."""
        return tuple(c for c in self.checks if c.severity is Severity.NOT_FIT)

    @property
    def warnings(self) -> tuple[Finding, ...]:
        """What must follow the numbers."""
        return tuple(c for c in self.checks if c.severity is Severity.WARNING)

    @property
    def untold(self) -> tuple[Finding, ...]:
        """Faults that the capture may have or not: it holds too little to tell by."""
        return tuple(c for c in self.checks if c.severity is Severity.CANNOT_TELL)

    @property
    def verdict(self) -> Verdict:
        """Of the whole capture."""
        if not self.fit:
            return Verdict.NOT_FIT
        return Verdict.CANNOT_TELL if self.untold else Verdict.FIT


def examine(view: View, edges: Mapping[str, EdgeResponse] | None = None) -> Fitness:
    """Examine a capture whose patch was found.

    Parameters
    ----------
    view : View
        The capture, where it lies on its patch, and its light.
    edges : mapping of str to EdgeResponse, optional
        Slanted edges measured on it, by region; without them sharpening is judged by noise only.
    """
    steepest = steepest_edges(view)
    size_mm, blur = view.patch.size_mm, edge_blur_um2(view, edges or {})
    position = find_sheet_position(view, mark_places(view))
    checks = (
        *geometry_findings(view),
        *pixel_findings(view.capture, *_patch_in_frame(view)),
        *_light_findings(view),
        *_blur_findings(steepest, position, size_mm, blur),
        *processing_findings(view, edges or {}, blur),
    )
    found = view.registration
    sharpness = Sharpness(steepest, blur, found.pixels_per_mm, found.run, found.sent_ppi, size_mm)
    return Fitness(_without_mistaken(checks), focus_map(steepest, blur), sharpness)


def _blur_findings(
    steepest: SteepestEdges, position: SheetPosition, size_mm: tuple[float, float], blur: float
) -> tuple[Finding, ...]:
    """Findings on focus and motion: of those that cannot be told the one that may cost most."""
    of_focus = focus_findings(steepest, position, size_mm, blur)
    defocus, *uneven = of_focus
    if defocus.severity is Severity.FINE:
        return of_focus
    found = (*motion_findings(steepest, blur), *uneven, defocus)
    told = [one for one in found if one.severity in (Severity.WARNING, Severity.NOT_FIT)]
    untold = [one for one in found if one.severity is Severity.CANNOT_TELL]
    return tuple(told or sorted(untold, key=lambda one: -one.value)[:1])


def _without_mistaken(checks: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Leave lens and shadows out of it where what was done to the picture looks the same.

    A capture that is unfit stays so.
    """
    unfit = {c.fault for c in checks if c.severity is Severity.NOT_FIT}
    blamed = {Severity.WARNING, Severity.NOT_FIT}
    sharpened = any(c.fault is Fault.SHARPENING and c.severity in blamed for c in checks)

    def is_mistaken(check: Finding) -> bool:
        if check.fault is Fault.UNEVEN_FOCUS:
            by_sharpening = sharpened and check.severity is Severity.WARNING
            return by_sharpening or not unfit.isdisjoint(LIKE_UNEVEN_FOCUS)
        patchy = check.limits.symptom is Symptom.LIGHT_PATCHES
        return patchy and not unfit.isdisjoint(LIKE_SHADOWS)

    return tuple(check for check in checks if not is_mistaken(check))


def examine_unregistered(capture: Capture, reason: str) -> Fitness:
    """Examine a capture in which no patch was found, for the reason that registration gave."""
    rows, columns = capture.shape
    checks = list(pixel_findings(capture, slice(0, rows), slice(0, columns)))
    if is_mirrored(capture):
        checks.append(Finding(Fault.MIRROR_IMAGE, 1.0, MIRROR, Refused(reason)))
    else:
        checks.append(Finding(Fault.MARKS_MISSING, 4.0, MARKS, Refused(reason)))
    return Fitness(tuple(checks))


def _patch_in_frame(view: View) -> tuple[slice, slice]:
    return patch_in_frame(view.capture, view.patch, view.registration.homography)


def _light_findings(view: View) -> tuple[Finding, ...]:
    return (
        Finding(Fault.UNEVEN_LIGHT, 100 * view.lighting.unevenness, UNEVEN_LIGHT),
        Finding(Fault.UNEVEN_LIGHT, 100 * view.lighting.patchiness, PATCHY_LIGHT),
    )
