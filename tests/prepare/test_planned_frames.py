"""A session file whose runs print one part of a picture: its sheets, and what measures it."""

from pathlib import Path

import numpy as np
import pytest
import tifffile
from skimage import data

from dotloupe.cli import sheet
from dotloupe.errors import InputError
from dotloupe.patch import Patch
from dotloupe.prepare import draw_frame, load_master
from dotloupe.session import RunOptions, load_plan, planned_options
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
