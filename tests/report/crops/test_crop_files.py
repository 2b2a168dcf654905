"""The pictures of a report as files: the same places of every print, small enough, none made up."""

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from dotloupe.compare.ranking.ranking import rank
from dotloupe.number import Measurand, Quantity
from dotloupe.report.crops import files as picture_files
from dotloupe.report.crops.crop import Box, View, encoded
from dotloupe.report.crops.files import CLOSE_MM, FINEST_CLOSE, write_pictures
from dotloupe.report.crops.laid_together import jpegs_of_print
from dotloupe.report.model import Setting, ranking_model


@pytest.fixture(scope="module")
def written(pictured, tmp_path_factory):
    folder = tmp_path_factory.mktemp("pictures")
    return write_pictures(ranking_model(pictured).settings, folder), folder


def layers(pictures):
    for prints in pictures.by_setting.values():
        for one in prints:
            yield one.whole
            yield from one.close.values()


def test_every_print_has_the_same_places_at_the_same_scale(written, pictured):
    pictures, folder = written
    assert pictures.missing == ()
    assert {name: len(prints) for name, prints in pictures.by_setting.items()} == {
        name: len(shots) for name, shots in pictured.measurements.items()
    }
    shots = [one for prints in pictures.by_setting.values() for one in prints]
    assert all(set(one.close) == set(pictures.places) for one in shots)
    for place in pictures.places:
        assert len({(one.close[place].box, one.close[place].pixels_per_mm) for one in shots}) == 1
    assert len({(one.whole.box, one.whole.pixels_per_mm) for one in shots}) == 1
    # every file of the folder is one of them, and none is shared
    paths = [layer.path for layer in layers(pictures)]
    assert sorted(paths) == sorted(p.relative_to(folder).as_posix() for p in folder.glob("*/*"))


def test_a_file_is_as_large_as_its_box_says(written):
    pictures, folder = written
    for layer in layers(pictures):
        rows, columns = cv2.imread(str(folder / layer.path)).shape[:2]
        assert columns == pytest.approx(layer.box.width_mm * layer.pixels_per_mm, abs=1)
        assert rows == pytest.approx(layer.box.height_mm * layer.pixels_per_mm, abs=1)


def test_close_ups_are_of_bars_an_edge_and_a_tint(written):
    pictures, _ = written
    regions = {region.name: region for region in pictures.regions}
    kinds = [regions[name].kind for name in pictures.places]
    assert sorted(kinds) == ["bars", "bars", "edge", "tint"]
    assert {regions[n].direction for n in pictures.places if regions[n].kind == "bars"} == {
        "x",
        "y",
    }
    for name in pictures.places:
        box = next(iter(pictures.by_setting.values()))[0].close[name].box
        x, y = regions[name].centre_mm
        assert (box.x_mm + CLOSE_MM / 2, box.y_mm + CLOSE_MM / 2) == pytest.approx((x, y))
        assert (box.width_mm, box.height_mm) == (CLOSE_MM, CLOSE_MM)
    assert all(
        one.close[name].pixels_per_mm == FINEST_CLOSE
        for prints in pictures.by_setting.values()
        for one in prints
        for name in pictures.places
    )


def size_of_wholes(pictures, folder):
    wholes = [one.whole for prints in pictures.by_setting.values() for one in prints]
    return sum((folder / whole.path).stat().st_size for whole in wholes), wholes[0].pixels_per_mm


def test_whole_prints_keep_to_their_budget(written, pictured, tmp_path, monkeypatch):
    free, finest = size_of_wholes(*written)
    monkeypatch.setattr(picture_files, "WHOLE_BUDGET_BYTES", free // 3)
    size, scale = size_of_wholes(
        write_pictures(ranking_model(pictured).settings, tmp_path), tmp_path
    )
    assert scale < finest
    # judged by a quarter of the patch, and as if bytes went with the area
    assert 0.5 < size / (free / 3) < 1.3


def test_one_capture_more_seldom_changes_the_scale(pictured, monkeypatch):
    m = pictured.measurements["fast"][0]
    whole = Box(0.0, 0.0, *m.registration.patch.size_mm)
    middle = Box(whole.width_mm / 4, whole.height_mm / 4, whole.width_mm / 2, whole.height_mm / 2)
    (sample,) = jpegs_of_print(m, [View(middle, 31.0, picture_files.WHOLE_QUALITY)]).jpegs
    # two prints are within the budget, judged by a quarter of one
    monkeypatch.setattr(picture_files, "WHOLE_BUDGET_BYTES", 8 * len(sample))
    scales = {
        n: picture_files._affordable_scale([Setting(0, "fast", (m,) * n)], whole)
        for n in range(1, 65)
    }
    for n, scale in scales.items():
        afforded = 31.0 * min(1.0, (2 / n) ** 0.5)
        # a quarter of an octave at most is given away
        assert afforded / 2**0.25 - 1e-9 <= scale <= afforded + 1e-9
    # five octaves of bytes, each of two quarters of an octave of the scale
    assert len(set(scales.values())) <= 1 + 5 * 2
    assert scales[40] == scales[41]


def test_a_capture_that_is_gone_or_another_now_is_left_out_by_name(pictured, tmp_path):
    shots = {name: list(group) for name, group in pictured.measurements.items()}
    gone = replace(shots["fast"][0], path=str(tmp_path / "gone.png"))
    changed = replace(shots["fine"][0], sha256="0" * 64)
    result = rank({"fast": [gone, *shots["fast"][1:]], "fine": [changed, *shots["fine"][1:]]})
    (tmp_path / "out").mkdir()
    pictures = write_pictures(ranking_model(result).settings, tmp_path / "out")
    assert [len(prints) for prints in pictures.by_setting.values()] == [1, 1]
    first, second = pictures.missing
    assert first.startswith("gone.png: ")
    assert second.startswith(f"{Path(changed.path).name}: ")


def test_without_a_place_on_the_patch_nothing_is_shown(ranking, tmp_path):
    pictures = write_pictures(ranking_model(ranking).settings, tmp_path)
    assert pictures.places == {}
    assert all(prints == () for prints in pictures.by_setting.values())
    assert len(pictures.missing) == sum(map(len, ranking.measurements.values()))
    assert list((tmp_path / "pictures").iterdir()) == []


def test_jpegs_keep_red_apart_from_blue():
    red = np.zeros((16, 16, 3), np.uint8)
    red[..., 0] = 200
    data = np.frombuffer(encoded(red, 90), np.uint8)
    blue, _, back = cv2.imdecode(data, cv2.IMREAD_COLOR)[8, 8]
    assert back > 190
    assert blue < 10


@pytest.mark.parametrize(
    ("quantity", "axis", "first"),
    [(Quantity.GRAIN, None, ("tint", None)), (Quantity.LINE_PAIRS, "y", ("bars", "y"))],
)
def test_what_decided_is_shown_first(pictured, tmp_path, quantity, axis, first):
    settings = ranking_model(pictured).settings[:1]
    pictures = write_pictures(settings, tmp_path, [Measurand(quantity, axis)])
    regions = {region.name: region for region in pictures.regions}
    shown = regions[next(iter(pictures.places))]
    assert (shown.kind, shown.direction) == first
    assert len(pictures.places) == 4
