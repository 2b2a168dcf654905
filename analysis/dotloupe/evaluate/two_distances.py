"""The camera's response from one print photographed at two distances."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from dotloupe.cautions import Caution
from dotloupe.errors import NotFitError, RegionError
from dotloupe.evaluate.cautions import ApertureUnknown, CameraBeatsIdeal, FocusDoubtful
from dotloupe.fitness import Fault
from dotloupe.measure import (
    IdealCamera,
    ScaledCamera,
    ScaledMtf,
    camera_by_scale as response_by_scale,
)
from dotloupe.measurement import CameraState, PatchMeasurement, SourceFile
from dotloupe.registration import averaging_step
from dotloupe.units import NORMAL_95

if TYPE_CHECKING:
    from dotloupe.capture import SetUp
    from dotloupe.measure import CameraCurve
    from dotloupe.measure.edge import EdgeResponse
    from dotloupe.measurement import Measurement

LEAST_RATIO = 1.5
"""Of the scales: nearer to each other, errors of the edges count 1 / (1 - 1 / r^2) times."""
SAME_APERTURE = 1.03
"""Times that one marked aperture may differ from itself by rounding."""
HEADROOM = 1.01
"""Times that a camera may seem better than pixel and diffraction, of one wavelength, allow."""
BLURS = (Fault.DEFOCUS, Fault.UNEVEN_FOCUS, Fault.TILT, Fault.CURL, Fault.MOTION_BLUR)


@dataclass(frozen=True)
class CameraByScale:
    """A camera's response from two distances, for prints whose own marks tell the scale.

    Attributes
    ----------
    files : (SourceFile, SourceFile)
        The photographs from farther and from nearer.
    set_up : SetUp
        Of the nearer one.
    response : ScaledCamera
    cautions : tuple of Caution
    """

    files: tuple[SourceFile, SourceFile]
    set_up: SetUp
    response: ScaledCamera
    cautions: tuple[Caution, ...]

    def on_print(self, pixels_per_mm: float) -> CameraCurve:
        """Response against cycles/mm, for a print photographed at this scale."""
        return self.response.on_print(pixels_per_mm)

    def serves(self, other: SetUp | None) -> bool:
        """Whether a photograph is of the same camera, lens and aperture."""
        return other is not None and not _unlike(self.set_up, other)


def is_camera_pair(one: Measurement, other: Measurement) -> bool:
    """Whether two photographs may show one print from two distances far enough apart."""
    scales = [_scale(m) for m in (one, other)]
    return None not in scales and scale_ratio(one, other) >= LEAST_RATIO and one.run == other.run


def camera_by_scale(one: Measurement, other: Measurement) -> CameraByScale:
    """Find the camera's response from the edges of one print at two distances.

    Parameters
    ----------
    one, other : Measurement
        Photographs of a patch, in any order, the camera left in their edges.

    Raises
    ------
    NotFitError
        One is not fit or not sharp; they are not of one print, camera, lens and aperture; their
        scales differ by less than 1.5; too few edges are seen in both.
    """
    far, near = (_patch(m) for m in sorted((one, other), key=lambda m: _scale(m) or 0.0))
    _check(far, near)
    set_up = near.set_up
    if set_up is None or far.set_up is None:
        raise NotFitError(f"{near.path}: its set-up is unknown; measure the photograph itself")
    ideal = IdealCamera(set_up.f_number, set_up.pixel_pitch_um)
    shared = [name for name in far.edges if name in near.edges]
    edges = [tuple(_scaled(m, m.edges[name]) for m in (far, near)) for name in shared]
    try:
        response = response_by_scale([(a, b) for a, b in edges], ideal)
    except RegionError as error:
        raise NotFitError(f"{near.path} and {far.path}: {error}") from error
    cautions: list[Caution] = []
    if not ideal.has_diffraction:
        cautions.append(ApertureUnknown())
    doubtful = [m.path for m in (far, near) if _may_be_soft(m)]
    cautions += [FocusDoubtful(path) for path in doubtful]
    if _beats(response, ideal, _per_mm(near)):
        cautions.append(CameraBeatsIdeal())
    files = SourceFile(far.path, far.sha256), SourceFile(near.path, near.sha256)
    return CameraByScale(files, set_up, response, tuple(cautions))


def _check(far: PatchMeasurement, near: PatchMeasurement) -> None:
    """Refuse what cannot tell of the camera."""
    both = f"{far.path} and {near.path}"
    sent = {m.sent_ppi for m in (far, near)} - {None}
    if far.run != near.run or len(sent) > 1:
        raise NotFitError(f"{both}: not one print (runs {far.run}, {near.run}); give two of one")
    for m in (far, near):
        if m.parameters.camera is not CameraState.INCLUDED:
            raise NotFitError(f"{m.path}: its camera was taken out already; measure it without")
    if scale_ratio(far, near) < LEAST_RATIO:
        raise NotFitError(
            f"{both}: their scales, {_per_mm(far):.0f} and {_per_mm(near):.0f} pixels/mm, are "
            f"less than {LEAST_RATIO:g} times apart; photograph the print again from nearer"
        )
    if far.set_up and near.set_up and (unlike := _unlike(far.set_up, near.set_up)):
        raise NotFitError(f"{both}: {unlike}; photograph both with one camera, lens and aperture")


def _patch(m: Measurement) -> PatchMeasurement:
    if not m.fit or not isinstance(m, PatchMeasurement) or m.registration is None:
        raise NotFitError(
            f"{m.path}: not fit to measure the camera by; dotloupe check says what to correct"
        )
    return m


def _unlike(one: SetUp, other: SetUp) -> str:
    """In what two set-ups differ that one camera's response would not survive; empty if alike."""
    if one.f_number and other.f_number:
        low, high = sorted((one.f_number, other.f_number))
        if high > SAME_APERTURE * low:
            return f"the aperture changed (f/{one.f_number:g}, f/{other.f_number:g})"
    for name in ("camera", "lens", "file_kind"):
        values = [getattr(s, name) for s in (one, other)]
        if all(values) and values[0] != values[1]:
            return f"the {name.replace('_', ' of ')} changed ({values[0]}, {values[1]})"
    return ""


def _scaled(m: PatchMeasurement, edge: EdgeResponse) -> ScaledMtf:
    """An edge's MTF with the camera's own pixels to the mm, which may have been averaged."""
    own = edge.pixels_per_mm * averaging_step(_per_mm(m))
    return ScaledMtf(edge.frequency, edge.mtf, edge.mtf_error, own)


def _scale(m: Measurement) -> float | None:
    return None if m.registration is None else m.registration.pixels_per_mm


def _per_mm(m: PatchMeasurement) -> float:
    return _scale(m) or 0.0


def scale_ratio(one: Measurement, other: Measurement) -> float:
    """Pixels/mm of the nearer photograph over those of the farther."""
    low, high = sorted((_scale(one) or 1.0, _scale(other) or 1.0))
    return high / low


def _may_be_soft(m: PatchMeasurement) -> bool:
    return m.fitness is not None and any(w.fault in BLURS for w in m.fitness.warnings)


def _beats(response: ScaledCamera, ideal: IdealCamera, pixels_per_mm: float) -> bool:
    """Whether the camera passes surely more than pixel and diffraction do, where edges tell."""
    curve = response.on_print(pixels_per_mm)
    told = curve.frequency <= response.finest * pixels_per_mm
    least = curve.mtf - NORMAL_95 * curve.error
    return bool((least > HEADROOM * ideal.mtf(curve.frequency, pixels_per_mm))[told].any())
