"""One capture measured: every element of its patch, or detail from one's own picture."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.cautions import Caution, Stated
from dotloupe.errors import DotloupeError
from dotloupe.evaluate.cautions import NothingMeasured, OtherCamera
from dotloupe.measurement import (
    CameraState,
    Measurement,
    Parameters,
    PatchMeasurement,
    SourceFile,
    not_fit,
    print_id,
)
from dotloupe.units import VIEWING_DISTANCE_MM

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.capture import Capture, SentPicture
    from dotloupe.evaluate.camera_reference import ReferenceEdge
    from dotloupe.evaluate.two_distances import CameraByScale
    from dotloupe.measure import Camera
    from dotloupe.patch import Patch
    from dotloupe.registration import FoundMarks


@dataclass(frozen=True)
class RunRepeated(Caution):
    """Patches of one run stand several times in one file; each counts as a print of its own."""

    run: int
    times: int


def measure_capture(
    capture: Capture,
    patch: Patch | None = None,
    *,
    picture: str | Path | FloatArray | SentPicture | None = None,
    camera_mtf: Camera | ReferenceEdge | CameraByScale | None = None,
    viewing_distance_mm: float = VIEWING_DISTANCE_MM,
    second_shot: Capture | None = None,
    true_width_mm: float | None = None,
) -> Measurement:
    """Measure every element of a photographed patch, or detail from one's own picture.

    Parameters
    ----------
    capture : Capture
    patch : Patch, optional
        The patch printed, where the capture's own code is not to be asked.
    picture : path, ndarray or SentPicture, optional
        The picture that was sent, where the capture shows a part of its print and no patch;
        `load_picture` takes the width of the print too.
    camera_mtf : EdgeResponse, (frequency, mtf), ReferenceEdge or CameraByScale, optional
        Response of the camera in the same set-up; edges and grain are then those of the print.
        The last two take their scale from the marks of this capture.
    viewing_distance_mm : float
        From which the print is looked at, for the visible grain.
    second_shot : Capture, optional
        Another photograph of this print. Where neither print nor camera moved between the two,
        grain is what both share, without the camera's noise; else it is left out.
    true_width_mm : float, optional
        Width over the corner marks, outer edge to outer edge, measured on the print; by default
        what a scan's resolution says, or else as drawn.

    Returns
    -------
    Measurement
        With `fit` False and the reasons where the capture cannot be measured.
    """
    if picture is not None:
        from dotloupe.capture import picture_of
        from dotloupe.evaluate import measure_own_picture

        return measure_own_picture(capture, picture_of(picture))
    return _of_patch(
        capture, None, patch, camera_mtf, viewing_distance_mm, second_shot, true_width_mm
    )


def measure_patches(
    capture: Capture,
    *,
    camera_mtf: Camera | ReferenceEdge | CameraByScale | None = None,
    viewing_distance_mm: float = VIEWING_DISTANCE_MM,
    second_shot: Capture | None = None,
    true_width_mm: float | None = None,
) -> tuple[Measurement, ...]:
    """Measure every patch that a photograph or a scan shows, each as a print of its own.

    Parameters
    ----------
    capture, camera_mtf, viewing_distance_mm, second_shot, true_width_mm
        As of `measure_capture`; a second shot serves a capture of one patch.

    Returns
    -------
    tuple of Measurement
        In order of their runs. One that is not fit where no patch was found.
    """
    from dotloupe.registration import find_all_marks

    try:
        found = find_all_marks(capture)
    except DotloupeError as error:
        return (not_fit(capture, Stated(str(error))),)
    if len(found) == 1:
        one = _of_patch(
            capture, found[0], None, camera_mtf, viewing_distance_mm, second_shot, true_width_mm
        )
        return (one,)
    runs = [marks.run for marks in found]
    measured = []
    for n, marks in enumerate(found):
        m = _of_patch(capture, marks, None, camera_mtf, viewing_distance_mm, None, true_width_mm)
        name, alike = f"{m.print_id} run {marks.run}", runs.count(marks.run)
        if alike > 1:
            name += f" no. {runs[: n + 1].count(marks.run)}"
            m = replace(m, warnings=(*m.warnings, RunRepeated(marks.run, alike)))
        measured.append(replace(m, print_id=name, run=marks.run, patch_number=n + 1))
    return tuple(measured)


def _of_patch(
    capture: Capture,
    marks: FoundMarks | None,
    patch: Patch | None,
    camera_mtf: Camera | ReferenceEdge | CameraByScale | None,
    viewing_distance_mm: float,
    second_shot: Capture | None,
    true_width_mm: float | None,
) -> Measurement:
    from dotloupe.capture import set_up_of
    from dotloupe.evaluate import (
        AXES,
        CameraByScale,
        ReferenceEdge,
        measure_bars,
        measure_dots,
        measure_edges,
        measure_gratings,
        measure_placements,
        measure_texture,
        measure_tints,
        print_responses,
        second_view,
        summarise_bars,
        summarise_dots,
        summarise_edges,
        summarise_gratings,
        summarise_placement,
        summarise_texture,
        summarise_tints,
    )
    from dotloupe.fitness import examine
    from dotloupe.measure import camera_curve
    from dotloupe.registration import in_true_mm, register, small_picture, view_of

    try:
        found = register(capture, patch, marks=marks)
        view = view_of(capture, in_true_mm(found, capture, true_width_mm))
    except DotloupeError as error:
        return not_fit(capture, Stated(str(error)))
    set_up = set_up_of(capture, view.registration.pixels_per_mm)
    file, by_scale, of_camera = None, None, tuple[Caution, ...]()
    if isinstance(camera_mtf, ReferenceEdge):
        file = SourceFile(camera_mtf.path, camera_mtf.sha256)
    elif isinstance(camera_mtf, CameraByScale) and camera_mtf.serves(set_up):
        by_scale, of_camera = camera_mtf.files, camera_mtf.cautions
    elif isinstance(camera_mtf, CameraByScale):
        camera_mtf, of_camera = None, (OtherCamera(),)
    if isinstance(camera_mtf, ReferenceEdge | CameraByScale):
        camera_mtf = camera_mtf.on_print(view.registration.pixels_per_mm)
    edges = measure_edges(view, camera_mtf)
    fitness = examine(view, edges.results)
    if not fitness.fit:
        return replace(not_fit(capture, *fitness.reasons), run=view.registration.run)
    bars = {axis: measure_bars(view, axis) for axis in AXES}
    second = None if second_shot is None else second_view(view, second_shot)
    tints = measure_tints(view, camera_mtf, viewing_distance_mm, second=second)
    dots = measure_dots(view)
    placements = measure_placements(view)
    of_edges = summarise_edges(view.shown, edges)
    of_bars = summarise_bars(view.shown, bars)
    of_tints = summarise_tints(view.shown, tints)
    of_gratings = summarise_gratings(measure_gratings(view, viewing_distance_mm))
    of_texture = summarise_texture(view.shown, measure_texture(view))
    summaries = (
        of_edges,
        of_bars,
        of_tints,
        summarise_dots(view.shown, dots),
        of_texture,
        summarise_placement(placements),
        of_gratings,
    )
    numbers = {name: number for s in summaries for name, number in s.numbers.items()}
    # with other photographs of its print a part may have more numbers than by itself
    of_part = not view.whole and (edges.results or any(b.results for b in bars.values()))
    measured = bool(numbers or of_part)
    return PatchMeasurement(
        path=capture.path,
        sha256=capture.sha256,
        print_id=print_id(capture.path),
        run=view.registration.run,
        sent_ppi=view.registration.sent_ppi,
        fit=measured,
        reasons=() if measured else (NothingMeasured(),),
        warnings=(
            *capture.warnings,
            *view.registration.cautions,
            *fitness.warnings,
            *fitness.untold,
            *of_camera,
        ),
        numbers=numbers,
        parameters=Parameters(
            viewing_distance_mm=viewing_distance_mm,
            camera=CameraState.INCLUDED if camera_mtf is None else CameraState.TAKEN_OUT,
            camera_file=file,
            camera_by_scale=by_scale,
            true_width_mm=true_width_mm,
            second_shot=None
            if second is None
            else SourceFile(second.capture.path, second.capture.sha256),
        ),
        response=print_responses(of_edges.together, view.printed_ppi),
        registration=view.registration,
        set_up=set_up,
        faults={name: fault for s in summaries for name, fault in s.faults.items()},
        edges=edges.results,
        directions=of_edges.together,
        tints={view.patch.regions[name].tone: g for name, g in tints.results.items()},
        grain=of_tints.together,
        lighting=view.lighting,
        small_picture=small_picture(
            capture, view.registration.homography, view.lighting, view.patch.size_mm
        )
        if view.whole
        else None,
        fitness=fitness,
        camera_cost_percent=fitness.camera_cost_percent if camera_mtf is None else None,
        bars={axis: readings.results for axis, readings in bars.items()},
        limits=of_bars.together,
        dots=dots.results,
        texture=of_texture.together,
        placement=placements.results,
        camera_curve=None if camera_mtf is None else camera_curve(camera_mtf),
        contrast=of_gratings.together,
    )
