"""The command as a person runs it: what it says, and with which status it ends."""

import json
import shutil
from pathlib import Path

import cv2
import numpy as np
import pytest
import tifffile
from command_line import dotloupe

SAMPLES = Path(__file__).parents[2] / "sample_captures"
GOOD = SAMPLES / "quality" / "fast" / "print1.jpg"
OTHER = SAMPLES / "quality" / "fine" / "print1.jpg"


def setting(folder: Path, name: str, *files: Path) -> Path:
    place = folder / name
    place.mkdir(parents=True)
    for file in files:
        shutil.copy(file, place / file.name)
    return place


def one_line(result, *words: str) -> None:
    """One line on standard error that holds the words, and no traceback."""
    lines = result.stderr.strip().splitlines()
    assert len(lines) == 1, result.stderr
    assert "Traceback" not in result.stderr
    for word in words:
        assert word in lines[0]


def test_alone_it_says_what_to_do_next():
    result = dotloupe()
    assert result.returncode == 0
    assert "dotloupe sheet" in result.stdout
    assert "dotloupe rank" in result.stdout


@pytest.mark.parametrize(
    "command",
    [
        *("sheet", "check", "measure", "rank", "ladder", "effects", "repeat"),
        *("prepare", "remeasure", "simulate"),
        *("track add", "track event", "track show", "track export"),
    ],
)
def test_every_command_explains_itself_with_an_example(command):
    result = dotloupe(*command.split(), "--help")
    assert result.returncode == 0
    assert "Example: dotloupe" in result.stdout


def test_sheet_writes_the_patch(tmp_path):
    result = dotloupe("sheet", "--ppi", 300, "--run", 7, "--out", tmp_path / "run7.tif")
    assert result.returncode == 0
    assert tifffile.imread(tmp_path / "run7.tif").shape == (236, 354, 3)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("sheet", "--ppi", "99", "--out", "x.tif"), ("99", "choose")),
        (("sheet", "--ppi", "600", "--run", "250", "--out", "x.tif"), ("250", "choose")),
        (("sheet", "--out", "x.tif"), ("--ppi",)),
        (("measure", "missing.tif"), ("missing.tif", "no such file")),
        (("simulate", "--out", "nowhere/a.tif"), ("nowhere", "make it first")),
        (("rank", "nowhere", "nowhere2"), ("nowhere", "no such folder")),
        (("rank",), ("FOLDER",)),
        (("effects", "nowhere", "x"), ("nowhere", "no such folder")),
        (("effects", "."), ("no folders within folders here",)),
        (("wrong",), ("wrong",)),
        (("rank", "none.toml"), ("none.toml", "no such session file")),
        (("measure", "none.toml", "a.jpg"), ("none.toml", "stands alone")),
        (("sheet", "none.toml", "--ppi", "300", "--out", "x"), ("none.toml", "leave the options")),
        (("track", "add", "a.jpg"), ("--printer, --paper, --mode", "PLAN.toml")),
        (("ladder", "a", "b", "--print-mm", "300x200"), ("--print-mm", "--picture-ppi")),
        (
            ("ladder", "a", "b", "--picture-ppi", "300", "--print-mm", "wide"),
            ("--print-mm wide", "300x200"),
        ),
        (("remeasure", "none.json"), ("none.json", "no such file")),
    ],
)
def test_usage_at_fault_is_one_line_and_status_2(arguments, words, tmp_path):
    result = dotloupe(*arguments, cwd=tmp_path)
    assert result.returncode == 2
    one_line(result, *words)


def test_empty_folder(tmp_path):
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    result = dotloupe("rank", tmp_path / "a", tmp_path / "b")
    assert result.returncode == 2
    one_line(result, str(tmp_path / "a"), "no photograph", "put its captures there")


def test_one_setting_only(tmp_path):
    result = dotloupe("rank", setting(tmp_path, "fast", GOOD), cwd=tmp_path)
    assert result.returncode == 2
    one_line(result, "only one setting", "add a folder of another")


def test_two_settings_of_one_name(tmp_path):
    first = setting(tmp_path / "x", "fast", GOOD)
    second = setting(tmp_path / "y", "fast", OTHER)
    result = dotloupe("rank", first, second)
    assert result.returncode == 2
    one_line(result, "'fast'", "rename one")


def test_one_folder_given_twice(tmp_path):
    fast = setting(tmp_path, "fast", GOOD)
    result = dotloupe("rank", fast, fast)
    assert result.returncode == 2
    one_line(result, str(fast), "given twice", "another folder")


def photograph_without_marks(path: Path) -> Path:
    grey = np.full((600, 900, 3), 180, np.uint8)
    cv2.circle(grey, (450, 300), 150, (90, 90, 90), -1)
    cv2.imwrite(str(path), grey)
    return path


def test_photograph_without_marks_is_not_fit(tmp_path):
    result = dotloupe("measure", photograph_without_marks(tmp_path / "sky.png"))
    assert result.returncode == 3
    one_line(result, "sky.png", "no patch found", "photograph the whole patch")


def test_part_of_a_patch_is_measured_and_one_without_a_mark_is_not_fit(tmp_path):
    picture = cv2.imread(str(GOOD))
    rows, columns = picture.shape[:2]
    part = tmp_path / "part.jpg"
    cv2.imwrite(str(part), picture[:, : int(0.8 * columns)], [cv2.IMWRITE_JPEG_QUALITY, 97])
    cv2.imwrite(str(tmp_path / "middle.png"), picture[rows // 4 : 3 * rows // 4])
    result = dotloupe("measure", part, "--json", tmp_path / "part.json")
    assert result.returncode == 0
    (measured,) = json.loads((tmp_path / "part.json").read_text("utf-8"))
    assert measured["fit"]
    assert "detail_x" in measured["numbers"]
    assert "grain" not in measured["numbers"]
    result = dotloupe("measure", tmp_path / "middle.png")
    assert result.returncode == 3
    one_line(result, "middle.png", "none of the coded corner marks", "a part with one of them")


def test_a_fault_in_one_capture_keeps_the_results_of_the_others(tmp_path):
    truncated = tmp_path / "truncated.tif"
    tifffile.imwrite(truncated, np.zeros((800, 900, 3), np.uint16))
    truncated.write_bytes(truncated.read_bytes()[:200_000])
    text = tmp_path / "text.tif"
    text.write_text("not a picture")
    unmarked = photograph_without_marks(tmp_path / "sky.png")
    folder = tmp_path / "folder.jpg"
    folder.mkdir()
    result = dotloupe(
        "measure", truncated, GOOD, text, unmarked, folder, "--json", tmp_path / "all.json"
    )
    assert result.returncode == 2
    lines = result.stderr.strip().splitlines()
    assert len(lines) == 4
    for name in ("truncated.tif", "text.tif", "sky.png", "folder.jpg"):
        assert sum(name in line for line in lines) == 1
    entries = json.loads((tmp_path / "all.json").read_text())
    assert [e["fit"] for e in entries] == [False, True, False, False, False]
    good = entries[1]
    assert good["run"] == 1
    assert any("simulated" in warning for warning in good["warnings"])
    assert good["sent_ppi"] == 600
    assert good["numbers"]["detail_x"]["low"] < good["numbers"]["detail_x"]["value"]
    assert all(e["reasons"] for e in entries if not e["fit"])


def test_rank_writes_json_as_pinned_and_a_report(tmp_path):
    first = setting(tmp_path, "fast", GOOD)
    second = setting(tmp_path, "fine", OTHER)
    target = tmp_path / "rank.json"
    result = dotloupe("rank", first, second, "--out", tmp_path / "report", "--json", target)
    assert result.returncode == 0, result.stderr
    assert result.stdout.strip().splitlines()[-1].startswith("Report: ")
    assert Path(result.stdout.strip().splitlines()[-1].removeprefix("Report: ")).exists()
    criteria = json.loads(target.read_text())["criteria"]
    names = {"detail_x", "detail_y", "line_pairs_x", "line_pairs_y", "grain", "overall"}
    assert names <= set(criteria)
    for criterion in criteria.values():
        assert criterion["better"] in ("higher", "lower")
        for place in criterion["places"]:
            keys = {"setting", "place", "tied_with", "value", "low", "high", "n"}
            assert keys <= set(place)
    assert criteria["grain"]["places"][0]["setting"] == "fine"


def test_json_on_standard_output_is_json_alone():
    result = dotloupe("measure", GOOD, "--json", "-")
    assert result.returncode == 0
    assert json.loads(result.stdout)[0]["fit"] is True


PLAN = """\
printer = "desk"
paper = "lustre"
sheet = {{width_mm = 100, height_mm = 60}}
[[runs]]
run = {0.run}
ppi = {0.ppi}
mode = "fast"
printed = 2026-03-12
captures = ["{0.file}"]
[[runs]]
run = {1.run}
ppi = {1.ppi}
mode = "{mode}"
captures = ["{1.file}"]
"""


class Printed:
    """What a sample's own marks and code say."""

    def __init__(self, name: str, run: int, ppi: int) -> None:
        self.file, self.run, self.ppi = SAMPLES / name, run, ppi


QUALITY = (Printed("quality/fast/print1.jpg", 1, 600), Printed("quality/fine/print1.jpg", 4, 600))
LADDER = (
    Printed("ladder/ppi180/print1.jpg", 13, 180),
    Printed("ladder/ppi720/print1.jpg", 25, 720),
)


def plan(folder: Path, *printed: Printed, mode: str) -> Path:
    """A session file with its photographs beside it."""
    for p in printed:
        shutil.copy(p.file, folder / f"run{p.run}.jpg")
    text = PLAN.format(*printed, mode=mode)
    for p in printed:
        text = text.replace(str(p.file), f"run{p.run}.jpg")
    path = folder / "plan.toml"
    path.write_text(text, "utf-8")
    return path


def test_sheet_says_what_is_printed_of_a_label(tmp_path):
    label = "fast mode 漢 " + 30 * "and long "
    result = dotloupe("sheet", "--ppi", 150, "--label", label, "--out", tmp_path / "a.tif")
    assert result.returncode == 0
    assert "printed as 'fast mode ? and long" in result.stderr


def test_sheets_of_a_plan_are_of_one_size_with_a_slot_each(tmp_path):
    result = dotloupe("sheet", plan(tmp_path, *LADDER, mode="fast"), "--out", tmp_path / "out")
    assert result.returncode == 0, result.stderr
    coarse, fine = (tmp_path / "out" / f for f in ("run13_180ppi.tif", "run25_720ppi.tif"))
    assert result.stdout.splitlines()[:2] == [str(coarse), str(fine)]
    for path, ppi in ((coarse, 180), (fine, 720)):
        rows, columns = tifffile.imread(path).shape[:2]
        # the size in mm to half a pixel
        assert abs(rows / ppi * 25.4 - 60) <= 25.4 / ppi / 2
        assert abs(columns / ppi * 25.4 - 100) <= 25.4 / ppi / 2
    low, high = tifffile.imread(coarse).min(axis=2), tifffile.imread(fine).min(axis=2)
    # 15 mm of margin, a patch of 30 mm, 10 mm clear, the next patch
    assert np.nonzero((low < 255).any(axis=0))[0].max() < 45 / 25.4 * 180 + 1
    assert np.nonzero((high < 255).any(axis=0))[0].min() > 55 / 25.4 * 720 - 1


def test_a_plan_is_ranked_kept_and_measured_again(tmp_path):
    session = plan(tmp_path, *QUALITY, mode="fine")
    target = tmp_path / "rank.json"
    ranked = dotloupe("rank", session, "--out", tmp_path / "report", "--json", target, "--quiet")
    assert ranked.returncode == 0, ranked.stderr
    content = json.loads(target.read_text())
    assert set(content["captures"]) == {"fast", "fine"}
    assert content["captures"]["fine"][0]["print"] == "run 4"

    again = dotloupe("remeasure", target)
    assert again.returncode == 0, again.stderr
    assert "nothing to correct; 2 captures" in again.stdout
    # a number published otherwise than these photographs give it
    place = content["criteria"]["grain"]["places"][0]
    place.update(value=place["value"] * 3, low=place["low"] * 3, high=place["high"] * 3)
    target.write_text(json.dumps(content))
    moved = dotloupe("remeasure", target)
    assert f"grain, {place['setting']}: {place['value']:.4g}" in moved.stdout
    assert "1 thing to correct" in moved.stdout

    history = tmp_path / "history.sqlite"
    undated = dotloupe("track", "add", session, "--history", history)
    assert undated.returncode == 2
    one_line(undated, "plan.toml, line 10", "run 4 has no day of printing")
    assert not history.exists()
    text = session.read_text().replace(
        "[[runs]]\nrun = 4", "[[runs]]\nprinted = 2026-03-13\nrun = 4"
    )
    session.write_text(text)
    added = dotloupe("track", "add", session, "--history", history)
    assert "2 of 2 captures are new" in added.stdout, added.stderr


def test_a_plan_is_climbed_with_advice_for_a_picture(tmp_path):
    session = plan(tmp_path, *LADDER, mode="fast")
    target = tmp_path / "ladder.json"
    picture = ("--picture-ppi", 300, "--print-mm", "254x254")
    files = ("--out", tmp_path / "report", "--json", target, "--title", "Two ppi")
    result = dotloupe("ladder", session, *picture, *files, "--quiet")
    assert result.returncode == 0, result.stderr
    # 10 inches at 300 ppi, squared
    said = " ".join(result.stdout.split())
    assert "the picture as it is, at 300 ppi" in said
    assert "Its file holds 9.0 megapixels (27 MB uncompressed)." in said
    content = json.loads(target.read_text())
    assert [p["sent_ppi"] for p in content["points"]] == [180, 720]
    assert content["recommendation"]["sentence"] in said
    page = (tmp_path / "report" / "index.html").read_text()
    kept = json.loads((tmp_path / "report" / "data" / "result.json").read_text())
    assert kept["title"] == "Two ppi"
    assert {"printer", "paper", "printed"} <= set(kept["circumstances"])
    assert page.index(kept["circumstances"]["printer"]) < page.index("<table")
    # what was asked is answered before there is something to look at
    assert page.index("against the ppi sent") < page.index('id="viewer"')


def test_a_plan_that_names_the_wrong_print(tmp_path):
    wrong = Printed("quality/fast/print1.jpg", 9, 600)
    result = dotloupe("measure", plan(tmp_path, wrong, QUALITY[1], mode="fine"), "--quiet")
    assert result.returncode == 2
    one_line(result, "run9.jpg", "its marks say run 1, the session file says run 9")


def test_check_says_what_is_fit_and_what_to_mend(tmp_path):
    unmarked = photograph_without_marks(tmp_path / "sky.png")
    result = dotloupe("check", GOOD, unmarked, "--out", tmp_path / "focus")
    assert result.returncode == 2
    (drawn,) = (tmp_path / "focus").iterdir()
    assert "%</text>" in drawn.read_text().replace(" ", "")
    lines = result.stdout.splitlines()
    assert lines[-1] == f"Focus map: {drawn}"
    assert lines[0] == f"{GOOD}: cannot tell whether it is fit"
    other = lines.index(f"{unmarked}: not fit")
    assert other > 1
    assert all("would settle" in line for line in lines[1:other])
    assert "no patch found" in lines[other + 1]


def test_focus_maps_of_captures_of_one_name_stand_beside_each_other(tmp_path):
    places = [tmp_path / day / "fine" / "print1.jpg" for day in ("monday", "tuesday")]
    for place in places:
        place.parent.mkdir(parents=True)
        place.write_bytes(GOOD.read_bytes())
    assert dotloupe("check", *places, "--out", tmp_path / "focus").returncode == 0
    names = sorted(path.name for path in (tmp_path / "focus").iterdir())
    assert names == ["fine_print1_focus.svg", "fine_print1_focus_2.svg"]


def test_check_of_a_file_that_cannot_be_read(tmp_path):
    text = tmp_path / "text.tif"
    text.write_text("not a picture")
    result = dotloupe("check", text)
    assert result.returncode == 2
    assert "text.tif: not fit" in result.stderr
