"""The camera taken out by one print at two distances, from command to what is said (simulated)."""

import json
from dataclasses import replace

import numpy as np
import pytest
from command_line import dotloupe
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from dotloupe import load_capture, measure_capture, simulate
from dotloupe.errors import NotFitError
from dotloupe.evaluate import (
    ApertureUnknown,
    CameraBeatsIdeal,
    FocusDoubtful,
    OtherCamera,
    ScalesNotUsed,
    camera_by_scale,
)
from dotloupe.fitness import Fault, FaultLimits, Finding, Symptom
from dotloupe.measurement import CameraState
from dotloupe.session import measure_paths
from dotloupe.session.options import RunOptions

CAMERA = simulate.Camera(width_px=2500, height_px=1700)
FAR, NEAR = 50.0, 78.0
F_NUMBER, FOCAL_PLANE_X, FOCAL_PLANE_UNIT, EXIF_IFD, CENTIMETRE = 0x829D, 0xA20E, 0xA210, 0x8769, 3


def exif(f_number):
    """Aperture and pixels of 4 um, as cameras state them in their files."""
    told = Image.Exif()
    inner = told.get_ifd(EXIF_IFD)
    inner[F_NUMBER] = IFDRational(round(10 * f_number), 10)
    inner[FOCAL_PLANE_X] = IFDRational(round(1e4 / CAMERA.pitch_um), 1)
    inner[FOCAL_PLANE_UNIT] = CENTIMETRE
    return told.tobytes()


def copy_with_aperture(source, target, f_number):
    """Copy a photograph that states another aperture."""
    content = source.read_bytes()
    assert exif(CAMERA.f_number) in content
    target.write_bytes(content.replace(exif(CAMERA.f_number), exif(f_number)))


@pytest.fixture(scope="module")
def folder(tmp_path_factory, fine_print):
    """One print from two distances at f/5.6."""
    place = tmp_path_factory.mktemp("distances")
    for n, per_mm in enumerate((FAR, NEAR), start=1):
        shot = simulate.Shot(pixels_per_mm=per_mm, rotation_deg=0.5 * n, seed=n)
        seen = simulate.photograph(fine_print[1], camera=CAMERA, shot=shot)
        Image.fromarray(seen.coded(8)).save(
            place / f"print1_shot{n}.jpg", quality=98, subsampling=0, exif=exif(CAMERA.f_number)
        )
    return place


@pytest.fixture(scope="module")
def apart(folder):
    """Each photograph with the camera left in its numbers."""
    return tuple(measure_capture(load_capture(folder / f"print1_shot{n}.jpg")) for n in (1, 2))


@pytest.fixture(scope="module")
def found(folder):
    """Both as a run measures them, which finds the camera by itself."""
    return tuple(measure_paths([folder / f"print1_shot{n}.jpg" for n in (1, 2)]))


def test_files_state_aperture_and_pitch(apart):
    for m in apart:
        assert m.set_up.f_number == pytest.approx(CAMERA.f_number)
        assert m.set_up.pixel_pitch_um == pytest.approx(CAMERA.pitch_um)


@pytest.mark.parametrize("axis", ["x", "y"])
def test_detail_is_that_of_the_print(fine_print, apart, found, axis, true_detail, table_row):
    """3 %: the goal set for a whole patch, by grain over 18 mm of edge."""
    patch, sheet = fine_print
    true = true_detail(sheet, patch, axis)
    behind, alone = ([m.numbers[f"detail_{axis}"].value for m in each] for each in (apart, found))
    table_row(
        "simulated print at 50 and 78 pixels/mm: the camera taken out by two distances",
        f"detail_{axis} true {true:.3f}, camera included {behind[0]:.3f} and {behind[1]:.3f}, "
        f"taken out {alone[0]:.3f} and {alone[1]:.3f}",
    )
    assert behind[0] < 0.95 * true
    assert alone == pytest.approx([true, true], rel=0.03)


def test_the_camera_is_found_by_itself_and_named(folder, found):
    for m in found:
        assert m.parameters.camera is CameraState.TAKEN_OUT
        far, near = (file.path for file in m.parameters.camera_by_scale)
        assert far.endswith("print1_shot1.jpg")
        assert near.endswith("print1_shot2.jpg")
    alone = list(measure_paths([folder / "print1_shot1.jpg"]))
    assert alone[0].parameters.camera is CameraState.INCLUDED


def test_the_option_takes_out_the_same_camera(folder, found, tmp_path):
    one, other = (folder / f"print1_shot{n}.jpg" for n in (1, 2))
    target = tmp_path / "measured.json"
    told = dotloupe("measure", one, "--camera-by-scale", other, one, "--json", target)
    assert told.returncode == 0, told.stderr
    assert "camera from two distances" in told.stdout
    (said,) = json.loads(target.read_text())
    assert said["numbers"]["detail_x"]["value"] == found[0].numbers["detail_x"].value
    named = [file["sha256"] for file in said["parameters"]["camera_by_scale"]]
    assert named == [file.sha256 for file in found[0].parameters.camera_by_scale]


def test_two_ways_to_the_camera_are_refused(folder):
    one, other = (folder / f"print1_shot{n}.jpg" for n in (1, 2))
    told = dotloupe("measure", one, "--camera", one, "--camera-by-scale", one, other)
    assert told.returncode == 2
    assert told.stderr.count("\n") == 1


def in_set_up(m, **changed):
    return replace(m, set_up=replace(m.set_up, **changed))


def test_an_aperture_that_changed_is_refused(apart):
    far, near = apart
    with pytest.raises(NotFitError, match=r"the aperture changed \(f/5\.6, f/8\)"):
        camera_by_scale(far, in_set_up(near, f_number=8.0))


def test_another_camera_or_print_is_refused(apart):
    far, near = apart
    other = in_set_up(near, camera="other"), in_set_up(far, camera="one")
    with pytest.raises(NotFitError, match="the camera changed"):
        camera_by_scale(*other)
    with pytest.raises(NotFitError, match="not one print"):
        camera_by_scale(far, replace(near, run=8))


def test_scales_too_near_each_other_are_refused(apart):
    far, near = apart
    closer = replace(near.registration, pixels_per_mm=1.4 * far.registration.pixels_per_mm)
    with pytest.raises(NotFitError, match=r"less than 1\.5 times apart"):
        camera_by_scale(far, replace(near, registration=closer))


def test_an_unfit_photograph_is_refused(apart):
    far, near = apart
    with pytest.raises(NotFitError, match="not fit to measure the camera by"):
        camera_by_scale(far, replace(near, fit=False))


def test_an_unknown_aperture_is_flagged(apart):
    far, near = apart
    assert camera_by_scale(far, near).cautions == ()
    silent = camera_by_scale(in_set_up(far, f_number=None), in_set_up(near, f_number=None))
    assert silent.cautions == (ApertureUnknown(),)


def test_a_photograph_that_may_be_soft_is_flagged(apart):
    far, near = apart
    limits = FaultLimits(Symptom.SOFTENING, warning=10.0, not_fit=35.0, unit="%", reason="")
    soft = Finding(Fault.UNEVEN_FOCUS, 20.0, limits)
    doubtful = replace(near, fitness=replace(near.fitness, checks=(soft,)))
    assert FocusDoubtful(near.path) in camera_by_scale(far, doubtful).cautions


def test_a_nearer_photograph_out_of_focus_is_flagged(apart):
    """Its edges lose what a Gaussian of 20 um takes."""
    far, near = apart
    blurred = {
        name: replace(e, mtf=e.mtf * np.exp(-2 * (np.pi * 0.020 * e.frequency) ** 2))
        for name, e in near.edges.items()
    }
    assert CameraBeatsIdeal() in camera_by_scale(far, replace(near, edges=blurred)).cautions


def test_a_photograph_at_another_aperture_keeps_its_camera(folder, tmp_path, apart):
    path = tmp_path / "print2.jpg"
    copy_with_aperture(folder / "print1_shot1.jpg", path, 11.0)
    camera = camera_by_scale(*apart)
    m = measure_capture(load_capture(path), camera_mtf=camera)
    assert m.parameters.camera is CameraState.INCLUDED
    assert OtherCamera() in m.warnings


def test_a_run_says_why_two_distances_do_not_tell(folder, tmp_path):
    for n, f_number in ((1, 5.6), (2, 8.0)):
        path = tmp_path / f"print1_shot{n}.jpg"
        copy_with_aperture(folder / path.name, path, f_number)
    measured = list(measure_paths(sorted(tmp_path.glob("*.jpg")), RunOptions()))
    for m in measured:
        assert m.parameters.camera is CameraState.INCLUDED
        (said,) = (w for w in m.warnings if isinstance(w, ScalesNotUsed))
        assert "aperture changed" in said.why
