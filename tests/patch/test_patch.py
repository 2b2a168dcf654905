"""The patch against its own geometry, the bar-target standard and general-purpose decoders."""

from itertools import combinations

import cv2
import numpy as np
import pytest
import tifffile

from dotloupe import Patch
from dotloupe.errors import InputError
from dotloupe.patch.corner_marks import PATCH_VERSION, PatchCode, code_text, parse_code
from dotloupe.patch.layout import LINE_INKS
from dotloupe.units import MM_PER_INCH

KINDS = ("detail", "tints", "contrast")
ONE_ELEMENT = ({"edge"}, {"line"}, {"grating", "plain"})


def gap_mm(first, second):
    """Clear distance between two upright rectangles, 0 where they touch or overlap."""
    dx = max(first.x_mm - second.x_mm - second.width_mm, second.x_mm - first.x_mm - first.width_mm)
    dy = max(
        first.y_mm - second.y_mm - second.height_mm, second.y_mm - first.y_mm - first.height_mm
    )
    return np.hypot(max(dx, 0.0), max(dy, 0.0))


@pytest.mark.parametrize("kind", KINDS)
def test_elements_lie_inside_30_by_20_mm_and_clear_of_each_other(kind):
    regions = list(Patch(600, kind=kind).regions.values())
    assert max(r.x_mm + r.width_mm for r in regions) <= 30.0
    assert max(r.y_mm + r.height_mm for r in regions) <= 20.0
    for a, b in combinations(regions, 2):
        if not any({a.kind, b.kind} <= one for one in ONE_ELEMENT):
            assert gap_mm(a, b) >= 0.5 - 1e-9, (a.name, b.name)


@pytest.mark.parametrize("ppi", [150, 240, 300, 360, 600, 720, 1200, 1500])
def test_file_has_its_size_to_a_pixel_and_carries_its_ppi(tmp_path, ppi):
    path = Patch(ppi, run=3).save(tmp_path / "patch.tif")
    with tifffile.TiffFile(path) as file:
        page = file.pages[0]
        assert page.shape == (round(20 / MM_PER_INCH * ppi), round(30 / MM_PER_INCH * ppi), 3)
        numerator, denominator = page.tags["XResolution"].value
        assert numerator / denominator == ppi
        assert page.tags["ResolutionUnit"].value == 2  # inch, TIFF 6.0
        assert "sRGB".encode("utf-16-be") in page.tags["InterColorProfile"].value


def test_bars_follow_the_1951_target_series(outside_check):
    """MIL-STD-150A groups 1 to 3, as tabled (the table cuts digits off: 0.006)."""
    table = [
        *(2.00, 2.24, 2.52, 2.83, 3.17, 3.56),
        *(4.00, 4.49, 5.04, 5.66, 6.35, 7.13),
        *(8.00, 8.98, 10.08, 11.31, 12.70, 14.25),
    ]
    regions = Patch(600).regions.values()
    for direction in ("x", "y"):
        drawn = [r.frequency for r in regions if r.kind == "bars" and r.direction == direction]
        claim = f"bars drawn along {direction}, lp/mm, against groups 1 to 3"
        outside_check(claim, "MIL-STD-150A", table, drawn[: len(table)], abs=0.006)
        assert drawn[-1] >= 20


@pytest.mark.parametrize("ppi", [150, 313, 600, 1500])
def test_area_sampling_keeps_the_light_of_every_element(ppi):
    """The light that the ink takes is that of the continuous geometry, at any resolution.

    Exact for cells; for the polygon within 1e-5 (32 lines per pixel row).
    """
    patch = Patch(ppi)
    lost = [(1 - patch.reflectance(at)).sum() / at**2 for at in (ppi, 997)]
    assert lost[0] == pytest.approx(lost[1], rel=1e-5)


def test_slanted_edge_lies_where_the_plan_says():
    """The half-way point of the first edge's middle row is the region's centre to 0.01 px."""
    patch = Patch(600)
    region = patch.regions["edge_mid_x_1"]
    pitch = MM_PER_INCH / 600
    column, row = region.centre_mm[0] / pitch - 0.5, region.centre_mm[1] / pitch - 0.5
    rows = patch.reflectance()[int(row) - 10 : int(row) + 12, :, 0]
    box = rows[:, int(column) - 8 : int(column) + 9]
    across = (box - 0.16).sum(axis=1) / (0.64 - 0.16) + int(column) - 8 - 0.5
    at_centre = np.polyval(np.polyfit(np.arange(len(rows)) + int(row) - 10, across, 1), row)
    assert at_centre == pytest.approx(column, abs=0.01)


@pytest.mark.parametrize("ppi", [240, 300, 720])
def test_marks_and_code_are_read_by_general_purpose_decoders(ppi):
    drawing = cv2.cvtColor(Patch(ppi, run=37).draw(), cv2.COLOR_RGB2GRAY)
    large = cv2.resize(drawing, None, fx=2400 / ppi, fy=2400 / ppi, interpolation=cv2.INTER_LINEAR)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_1000)
    _, ids, _ = cv2.aruco.ArucoDetector(dictionary).detectMarkers(large)
    assert sorted(np.ravel(ids)) == [148, 149, 150, 151]
    text, _, _ = cv2.QRCodeDetector().detectAndDecode(large)
    assert parse_code(text) == PatchCode(PATCH_VERSION, "detail", 37, ppi)


@pytest.mark.parametrize("ppi", [180, 240, 300, 360, 450, 480, 600, 720, 1200])
@pytest.mark.parametrize("axis", ["x", "y"])
def test_no_raster_moves_the_lines_of_one_ink_against_another(ppi, axis):
    """Half-covered pixels pull a line's centre to one side, and density weighs them on its own.

    Over the lines of an ink that must cancel: here the square of the darkness stands for a
    curve that is not straight. 0.01 um is rounding; a line shifted by a quarter of a pixel of
    600 ppi would show about 2 um.
    """
    patch = Patch(ppi)
    drawn, pitch = patch.reflectance(), MM_PER_INCH / ppi
    pulled: dict[str, list[float]] = {ink: [] for ink in LINE_INKS}
    for region in (r for r in patch.regions.values() if r.kind == "line" and r.direction == axis):
        (left, top), _, (right, bottom), _ = (np.array(c) / pitch for c in region.corners_mm)
        end_y, end_x = int(np.ceil(bottom - 1e-9)), int(np.ceil(right - 1e-9))
        box = 1 - drawn[int(top + 1e-9) : end_y, int(left + 1e-9) : end_x]
        inside = box[2:-2] if axis == "x" else box[:, 2:-2]
        dark = (inside**2).sum(axis=(0 if axis == "x" else 1, 2))
        first = int((left if axis == "x" else top) + 1e-9)
        place = pitch * float((first + 0.5 + np.arange(len(dark))) @ dark / dark.sum())
        pulled[region.ink].append(1000 * (place - region.centre_mm["xy".index(axis)]))
    assert all(len(found) == 2 for found in pulled.values())
    means = [np.mean(found) for found in pulled.values()]
    assert np.ptp(means) < 0.01


def test_code_text_reads_back():
    code = PatchCode(1, "tints", 249, 1500)
    assert parse_code(code_text(code)) == code
    assert parse_code("anything else") is None


def test_drawing_repeats_exactly():
    assert np.array_equal(Patch(300, run=1).draw(), Patch(300, run=1).draw())


@pytest.mark.parametrize(("ppi", "run"), [(149, 0), (1501, 0), (600, 250), (600, -1), (300.5, 0)])
def test_out_of_range_is_refused(ppi, run):
    with pytest.raises(InputError, match="choose"):
        Patch(ppi, run=run)


def test_a_label_too_long_is_shortened_to_its_place():
    printed = Patch(300, label="x" * 300).printed_label
    assert 20 <= len(printed) < 100
    assert set(printed) == {"x"}
    assert Patch(300, label="fast mode").printed_label == "fast mode"


def test_letters_of_a_label_are_printed_or_said_to_be_missing():
    """Unicode: U+00FC and U+03BB have letters in an open font of Latin and Greek, U+6F22 none."""
    assert Patch(300, label="glänzend λ").printed_label == "glänzend λ"
    assert Patch(300, label="matt 漢").printed_label == "matt ?"
    drawings = [Patch(300, label=text).draw() for text in ("ü", "λ", "")]
    assert all(np.sum(one != other) > 20 for one, other in combinations(drawings, 2))


def test_missing_folder_is_named(tmp_path):
    with pytest.raises(InputError, match="no folder"):
        Patch(300).save(tmp_path / "nowhere" / "patch.tif")


def test_a_region_knows_its_tone_and_which_one_it_is():
    """The drawing and the names state the same as the region's own fields."""
    patch = Patch(600)
    drawn = patch.reflectance()
    for r in patch.regions.values():
        column, row = (int(c / MM_PER_INCH * 600) for c in r.centre_mm)
        if r.kind == "tint" and r.reflectance is not None:
            assert drawn[row, column] == pytest.approx([r.reflectance] * 3)
        assert (r.reflectance is not None) == (r.kind == "tint" and "light" not in r.name)
    for kind, direction, tone, count in (
        ("edge", "x", "mid", 4),
        ("edge", "y", "dark", 2),
        ("line", "x", "", 8),
        ("mark", None, "", 4),
    ):
        like = [
            r
            for r in patch.regions.values()
            if (r.kind, r.direction, r.tone) == (kind, direction, tone)
        ]
        assert sorted(r.number for r in like) == list(range(1, count + 1))
