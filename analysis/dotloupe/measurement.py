"""The numbers of one capture, gathered from every element of its patch."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from enum import Enum
from pathlib import PurePath
from typing import TYPE_CHECKING, Any

from dotloupe.cautions import Caution, Stated
from dotloupe.number import (
    CONTRAST_CRITERIA,
    CRITERIA,
    PICTURE_CRITERIA,
    Criterion,
    Measurand,
    Number,
    Quantity,
)
from dotloupe.storage import as_text, plain

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from dotloupe.arrays import FloatArray
    from dotloupe.capture import Capture, Lighting, SetUp
    from dotloupe.fitness import Fitness
    from dotloupe.measure import CameraCurve
    from dotloupe.measure.bars import LinePairs, ResolvedLimit
    from dotloupe.measure.contrast import ContrastMap
    from dotloupe.measure.dots import Dots
    from dotloupe.measure.edge import CombinedEdges, EdgeResponse
    from dotloupe.measure.grain import Grain, GrainSummary
    from dotloupe.measure.lines import Doubling, PlaneOffset, PrintedLine
    from dotloupe.measure.texture import Transfer
    from dotloupe.patch import Axis
    from dotloupe.registration import Registration, SmallPicture


def criteria_of(measurements: Iterable[Measurement]) -> Mapping[str, Criterion]:
    """Criteria that measurements may be ranked by, in the units that they have.

    Of contrast patches and own pictures where such were photographed, each in one unit.
    """
    measurements = list(measurements)
    found = dict(CRITERIA)
    if any(isinstance(m, PatchMeasurement) and m.contrast for m in measurements):
        found |= CONTRAST_CRITERIA
    if not any(isinstance(m, PictureMeasurement) for m in measurements):
        return found
    for name, criterion in PICTURE_CRITERIA.items():
        units = {m.numbers[name].unit for m in measurements if name in m.numbers}
        if len(units) == 1:
            found[name] = replace(criterion, unit=units.pop())
    return found


class CameraState(Enum):
    """Whether the camera's own softness is in a number; the value is its name in JSON."""

    INCLUDED = "included"
    TAKEN_OUT = "taken out"
    TAKEN_OUT_OF_SOME = "taken out of some"


@dataclass(frozen=True)
class SourceFile:
    """A photograph that others were corrected by."""

    path: str
    sha256: str


@dataclass(frozen=True)
class Parameters:
    """What a capture was measured with; None for what played no part.

    Attributes
    ----------
    viewing_distance_mm : float or None
        From which the print is looked at, for the visible grain.
    camera, camera_file : CameraState or None, SourceFile or None
        Whether the camera is in the numbers of edges and grain; the reference edge it was read on.
    camera_by_scale : (SourceFile, SourceFile) or None
        In place of it, two photographs of one print from farther and from nearer.
    blank_file : SourceFile or None
        Blank paper, whose light was divided out.
    exposures_file : SourceFile or None
        The brighter of two exposures, by which the camera's tone curve was taken out.
    second_shot : SourceFile or None
        Another photograph of the unmoved print, by which the camera's noise left the grain.
    picture, picture_scale : str or None
        Path of the own picture that was compared, and where its printed size is known from.
    coherence_level : float or None
        Above which detail of the own picture counts as kept.
    fed_turned, true_width_mm : bool or None, float or None
        Whether it was fed turned by 90 degrees; width over its corner marks, measured by hand.
    """

    viewing_distance_mm: float | None = None
    camera: CameraState | None = None
    camera_file: SourceFile | None = None
    camera_by_scale: tuple[SourceFile, SourceFile] | None = None
    blank_file: SourceFile | None = None
    exposures_file: SourceFile | None = None
    second_shot: SourceFile | None = None
    picture: str | None = None
    picture_scale: str | None = None
    coherence_level: float | None = None
    fed_turned: bool | None = None
    true_width_mm: float | None = None

    def to_dict(self) -> dict[str, Any]:
        """Plain values of those that played a part."""
        values: dict[str, Any] = plain(self)
        return {name: value for name, value in values.items() if value is not None}


@dataclass(frozen=True)
class Placement:
    """Where the head put ink along one axis.

    Attributes
    ----------
    planes : tuple of PlaneOffset
        Each ink plane against black.
    lines : tuple of PrintedLine
        The black lines.
    passes : tuple of Doubling
        Offset between passes, of each black line.
    """

    planes: tuple[PlaneOffset, ...]
    lines: tuple[PrintedLine, ...]
    passes: tuple[Doubling, ...]


@dataclass(frozen=True)
class PrintResponse:
    """Contrast on the print over contrast in the pixels of the file, along one axis.

    Attributes
    ----------
    frequency, response, error : ndarray of shape (n,)
        Cycles/mm from 0 up, contrast kept, and its standard error. The camera is in it or not as
        the measurement's parameters say.
    """

    frequency: FloatArray
    response: FloatArray
    error: FloatArray


@dataclass(frozen=True)
class OwnPicture:
    """What one photograph says of the print of one's own picture.

    Attributes
    ----------
    transfer : Transfer
        |H| and coherence against the picture. Frequencies are in cycles/mm on the print, or, where
        the printed size is unknown, in units of 300/25.4 cycles per picture pixel.
    pixels_per_picture_px, turned_deg : float
        Of the pixels that were compared, and the picture's direction x in them.
    off_px : float
        How far the two lay out of register, in picture pixels; it was taken out.
    """

    transfer: Transfer
    pixels_per_picture_px: float
    turned_deg: float
    off_px: float


OF_A_BARE_ONE = (
    "path", "sha256", "print_id", "run", "sent_ppi", "fit", "reasons", "warnings", "numbers",
    "parameters", "response", "patch_number", "set_up", "camera_cost_percent",
)  # fmt: skip
"""What a measurement keeps without the results behind its numbers."""


@dataclass(frozen=True)
class Measurement:
    """Every number of one capture: a `PatchMeasurement` or a `PictureMeasurement`.

    By itself it stands for a capture that could not be measured, or for bare numbers.

    Attributes
    ----------
    path, sha256 : str
        The capture measured, and the hash of its file (empty where it could not be read).
    print_id : str
        Captures of one setting that share it are photographs of one print.
    patch_number : int
        Which patch of a file that shows several, from 1; 0 where it shows one.
    run : int or None
        Run number read from the corner marks.
    sent_ppi : float or None
        Resolution of the file sent to the printer, read from the patch's code.
    fit : bool
        False where no number may be published; `reasons` says why.
    reasons, warnings : tuple of Caution
        Why the capture is not fit; what a reader of the numbers must know.
    numbers : mapping of str to Number
        Keyed by the names of `CRITERIA`, and further ones.
    parameters : Parameters
    response : mapping of axis to PrintResponse
        Of a patch's mid-tone edges.
    registration : Registration or None
        Where the capture lies on the patch, or on the own picture.
    faults : mapping of str to str
        Why elements have no number, by element.
    edges : mapping of str to EdgeResponse
        By region.
    directions : mapping of str to CombinedEdges
        Edges of one direction and tone together, by the name of their number.
    tints : mapping of str to Grain
        By tone; those of marked regions by region.
    grain : GrainSummary or None
        The tints together.
    set_up : SetUp or None
        What the capture tells of camera, sampling, file and tone.
    camera_cost_percent : float or None
        Of detail, that the camera takes at most where it is included; None where not bounded.
    """

    path: str
    sha256: str
    print_id: str
    run: int | None
    sent_ppi: float | None
    fit: bool
    reasons: tuple[Caution, ...]
    warnings: tuple[Caution, ...]
    numbers: Mapping[str, Number]
    parameters: Parameters = Parameters()
    response: Mapping[str, PrintResponse] = field(default_factory=dict)
    registration: Registration | None = None
    faults: Mapping[str, str] = field(default_factory=dict)
    edges: Mapping[str, EdgeResponse] = field(default_factory=dict)
    directions: Mapping[str, CombinedEdges] = field(default_factory=dict)
    tints: Mapping[str, Grain] = field(default_factory=dict)
    grain: GrainSummary | None = None
    patch_number: int = 0
    set_up: SetUp | None = None
    camera_cost_percent: float | None = None

    @property
    def identity(self) -> str:
        """What tells it from all others: the hash of its file, and which patch of it."""
        return f"{self.sha256} {self.patch_number}" if self.patch_number else self.sha256

    @property
    def photographs(self) -> tuple[Measurement, ...]:
        """Each photograph by itself, where several make one measurement."""
        return (self,)

    def bare(self) -> Measurement:
        """Return what the capture is and its numbers, without the results behind them."""
        kept: dict[str, Any] = {name: getattr(self, name) for name in OF_A_BARE_ONE}
        return Measurement(**kept)

    def to_dict(self, words: Callable[[Caution], str] = str) -> dict[str, Any]:
        """Plain values for a JSON file: what the capture is, and every number with its unit.

        Parameters
        ----------
        words : callable
            What is written of a reason or warning; its name by default.

        Returns
        -------
        dict
        """
        return {
            "path": self.path,
            "sha256": self.sha256,
            "print": self.print_id,
            "run": self.run,
            "sent_ppi": self.sent_ppi,
            "fit": self.fit,
            "reasons": plain(self.reasons, words),
            "warnings": plain(self.warnings, words),
            "camera": plain(self.parameters.camera),
            "camera_cost_percent_at_most": self.camera_cost_percent,
            "parameters": self.parameters.to_dict(),
            "numbers": {name: number.to_dict() for name, number in self.numbers.items()},
            "response": plain(self.response),
        }


@dataclass(frozen=True)
class PatchMeasurement(Measurement):
    """Every number of one capture of a patch, and the results that they were formed from.

    Attributes
    ----------
    lighting : Lighting or None
        Light of the paper over the patch, where it was uneven.
    small_picture : SmallPicture or None
        The whole patch as an eye sees it.
    fitness : Fitness or None
        What was found on what may be measured.
    bars : mapping of axis to mapping of str to LinePairs
        By axis and region.
    limits : mapping of axis to ResolvedLimit
    dots : mapping of str to Dots
        By region.
    texture : Transfer or None
    placement : mapping of axis to Placement
    camera_curve : CameraCurve or None
        The camera's response that was taken out.
    contrast : tuple of ContrastMap
        Of a contrast patch, one for each tone or ink and direction.
    parts : tuple of PatchMeasurement
        Where several photographs, some of a part of the patch, make one print: each by itself.
    sources : mapping of str to tuple of str
        Then the paths of the photographs that each number came from.
    """

    lighting: Lighting | None = None
    small_picture: SmallPicture | None = None
    fitness: Fitness | None = None
    bars: Mapping[Axis, Mapping[str, LinePairs]] = field(default_factory=dict)
    limits: Mapping[Axis, ResolvedLimit] = field(default_factory=dict)
    dots: Mapping[str, Dots] = field(default_factory=dict)
    texture: Transfer | None = None
    placement: Mapping[str, Placement] = field(default_factory=dict)
    camera_curve: CameraCurve | None = None
    contrast: tuple[ContrastMap, ...] = ()
    parts: tuple[PatchMeasurement, ...] = ()
    sources: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def photographs(self) -> tuple[Measurement, ...]:
        """Each photograph by itself."""
        return self.parts or (self,)


@dataclass(frozen=True)
class PictureMeasurement(Measurement):
    """Every number of one photograph of the print of one's own picture.

    Attributes
    ----------
    own_picture : OwnPicture or None
        The comparison with the picture; None where only marked regions were measured.
    lighting, small_picture
        As of a `PatchMeasurement`, of the frame of marks round the picture; None without one.
    """

    own_picture: OwnPicture | None = None
    lighting: Lighting | None = None
    small_picture: SmallPicture | None = None


def camera_state(measurements: Iterable[Measurement], name: str) -> CameraState | None:
    """Whether the camera's own softness is in a number of `CRITERIA`; None for any other.

    Bars and gratings keep it always, whatever was taken out of edges and grain.
    """
    criterion = CRITERIA.get(name)
    if name in CONTRAST_CRITERIA:
        return CameraState.INCLUDED
    if criterion is None:
        return None
    taken_out = {m.parameters.camera is CameraState.TAKEN_OUT for m in measurements if m.fit}
    if criterion.measurand.quantity is Quantity.LINE_PAIRS or True not in taken_out:
        return CameraState.INCLUDED
    return CameraState.TAKEN_OUT if taken_out == {True} else CameraState.TAKEN_OUT_OF_SOME


def measurands(measurements: Iterable[Measurement], *quantities: Quantity) -> list[Measurand]:
    """What measurements have numbers of, among these quantities, each once and in order."""
    found = (n.measurand for m in measurements for n in m.numbers.values())
    return list(dict.fromkeys(f for f in found if f is not None and f.quantity in quantities))


def print_id(path: str) -> str:
    """Name of the print that a file shows: its stem without a closing `_shot2` or the like."""
    return as_text(re.sub(r"_shot\d+$", "", PurePath(path).stem))


def unread(path: str, reason: str) -> Measurement:
    """Stand for a file that could not be read: no hash, no number, the reason."""
    return Measurement(path, "", print_id(path), None, None, False, (Stated(reason),), (), {})


def not_fit(capture: Capture, *reasons: Caution) -> Measurement:
    """Stand for a capture that cannot be measured, for these reasons."""
    unmeasured = unread(capture.path, "")
    return replace(unmeasured, sha256=capture.sha256, reasons=reasons, warnings=capture.warnings)
