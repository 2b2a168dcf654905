"""A session file whose runs print one part of a picture: its sheets, and what measures it."""

from pathlib import Path

import cv2
import numpy as np
import pytest
import tifffile
from skimage import data

from dotloupe.capture import load_picture
from dotloupe.cli import sheet
from dotloupe.errors import InputError
from dotloupe.patch import Patch, framed_part
from dotloupe.prepare import align_version, draw_frame, load_master
from dotloupe.session import RunOptions, load_plan, planned_options, setting_names
from dotloupe.units import MM_PER_INCH

PLAN = """\
printer = "simulated"
paper = "simulated"
viewing_distance_mm = 300
sheet = {width_mm = 100, height_mm = 80}
picture = {file = "photo.tif", print_width_mm = 40, frame_mm = [5, 7]}
[[runs]]
run = 1
ppi = 360
mode = "fast"
[[runs]]
run = 2
ppi = 300
mode = "fine"
"""


@pytest.fixture
def plan(tmp_path):
    pixels = np.asarray(data.astronaut()).astype(np.uint16) * 257
    tifffile.imwrite(tmp_path / "photo.tif", pixels, photometric="rgb")
    path = tmp_path / "plan.toml"
    path.write_text(PLAN)
    return path


def test_every_run_prints_the_part_in_its_slot(plan, capsys):
    folder = plan.parent / "sheets"
    sheet.run(sheet.parser().parse_args([str(plan), "--out", str(folder)]))
    picture = load_master(plan.parent / "photo.tif", 40)
    for run, ppi, slot_mm in ((1, 360, (15, 15)), (2, 300, (55, 15))):
        whole = tifffile.imread(folder / f"run{run}_{ppi}ppi.tif")
        assert whole.dtype == np.uint16
        drawing = draw_frame(picture, Patch(ppi, run, ["fast", "fine"][run - 1], "picture", (5, 7)))
        left, top = (round(mm / MM_PER_INCH * ppi) for mm in slot_mm)
        rows, columns = drawing.shape[:2]
        assert np.array_equal(whole[top : top + rows, left : left + columns], drawing)
        assert (whole[: top - 1] == 65535).all()
    assert "sRGB was assumed" in capsys.readouterr().err


def test_its_photographs_are_measured_against_the_picture(plan):
    options = planned_options(load_plan(plan), RunOptions())
    assert options.viewing_distance_mm == 300
    assert options.picture.path == Path(plan.parent / "photo.tif")
    assert options.picture.load().ppi == pytest.approx(512 / 40 * 25.4)


@pytest.mark.parametrize("wrong", ["[-1, 2]", "[1.5, 2]", "[1, 2, 3]", "[1, 1000]"])
def test_impossible_places_are_refused_with_their_line(plan, wrong):
    plan.write_text(PLAN.replace("[5, 7]", wrong))
    with pytest.raises(InputError, match=r"plan\.toml") as refused:
        load_plan(plan)
    assert "frame_mm" in str(refused.value)


@pytest.fixture
def versions(plan):
    """A picture twice as large, by cubic convolution, whole and cropped; runs that send them."""
    pixels = np.ascontiguousarray(tifffile.imread(plan.parent / "photo.tif")[::2, ::2])
    tifffile.imwrite(plan.parent / "photo.tif", pixels, photometric="rgb")
    twice = cv2.resize(pixels, None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    tifffile.imwrite(plan.parent / "whole.tif", twice, photometric="rgb")
    tifffile.imwrite(plan.parent / "part.tif", twice[51:401, 30:510], photometric="rgb")
    tifffile.imwrite(plan.parent / "turned.tif", twice[::-1, ::-1], photometric="rgb")
    other = np.ascontiguousarray(pixels.transpose(1, 0, 2))
    tifffile.imwrite(plan.parent / "other.tif", other, photometric="rgb")

    def write(*sent):
        runs = (
            f'[[runs]]\nrun = {n}\nppi = 325\nmode = "fine"\nsent = "{file}"\n'
            for n, file in enumerate(sent, start=3)
        )
        plan.write_text(PLAN + "".join(runs))
        return plan

    return write


def test_versions_made_elsewhere_lie_where_their_master_does(versions):
    """At 325.12 ppi and 40 mm the version of twice the pixels is sent pixel by pixel."""
    path = versions("whole.tif", "part.tif")
    folder = path.parent / "sheets"
    sheet.run(sheet.parser().parse_args([str(path), "--out", str(folder)]))
    master = load_master(path.parent / "photo.tif", 40)
    drawn = {}
    for file in ("whole.tif", "part.tif"):
        version = align_version(load_picture(path.parent / file), master)
        patch = Patch(325, 3, "", "picture", (5, 7))
        drawn[file] = draw_frame(master, patch, version=version)
        assert version.picture.ppi == pytest.approx(2 * master.ppi, rel=2e-4)
    place = framed_part(Patch(325, 3, "", "picture", (5, 7)), master.shape, master.ppi)
    pixels = tifffile.imread(path.parent / "whole.tif")
    assert np.array_equal(drawn["whole.tif"][place.place], pixels[place.cut])
    whole, part = (d.astype(float) for d in drawn.values())
    # the crop begins at an odd pixel of a raster that is resampled by 0.04 %
    assert np.sqrt(np.mean((whole - part) ** 2)) < 0.01 * 65535
    own = draw_frame(master, Patch(325, 3, "", "picture", (5, 7))).astype(float)
    assert np.sqrt(np.mean((whole - own) ** 2)) < 0.02 * 65535


def test_versions_are_settings_and_the_picture_is_one_among_them(versions):
    plan = load_plan(versions("whole.tif"))
    assert setting_names(plan)[-1] == "fine, 325 ppi, whole.tif"
    assert [r.sent for r in plan.runs] == ["photo.tif", "photo.tif", "whole.tif"]
    assert [plan.version_file(r) for r in plan.runs[:2]] == [None, None]


@pytest.mark.parametrize(
    ("file", "words"),
    [("turned.tif", "turned by"), ("other.tif", "not recognised"), ("none.tif", "none.tif")],
)
def test_files_that_are_no_version_are_refused(versions, file, words):
    path = versions(file)
    with pytest.raises(InputError, match=words) as refused:
        sheet.run(sheet.parser().parse_args([str(path), "--out", str(path.parent / "sheets")]))
    assert file in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_frame_beyond_a_cropped_version_is_refused(versions):
    path = versions("part.tif")
    master = load_master(path.parent / "photo.tif", 40)
    version = align_version(load_picture(path.parent / "part.tif"), master)
    with pytest.raises(InputError, match="beyond what it shows"):
        draw_frame(master, Patch(325, 3, "", "picture", (0, 0)), version=version)


def test_a_version_without_a_picture_is_refused_with_its_line(versions):
    path = versions("whole.tif")
    text = path.read_text()
    path.write_text("\n".join(x for x in text.splitlines() if not x.startswith("picture")))
    with pytest.raises(InputError, match=r"plan\.toml, line \d+, sent"):
        load_plan(path)
