"""Several patches in one file: each is measured by its own marks, at any turn (drawn)."""

import json

import cv2
import numpy as np
import pytest
from command_line import dotloupe
from PIL import Image

from dotloupe import Patch
from dotloupe.evaluate.capture_evaluation import RunRepeated
from dotloupe.session.measuring import measure_file

PER_MM = 40
SIDE_PX = 1360
TURNS_DEG = {1: 0.0, 2: 90.0, 3: 180.0, 4: 3.0}


def square(run, turn_deg, seed=None):
    """A patch drawn in the middle of a square of paper, with a grain of 0.05 mm and turned."""
    drawn = Patch(600, run=run, label="simulated").reflectance(600)
    size = (
        round(drawn.shape[1] * PER_MM * 25.4 / 600),
        round(drawn.shape[0] * PER_MM * 25.4 / 600),
    )
    seen = cv2.resize(drawn.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    paper = np.ones((SIDE_PX, SIDE_PX, 3), np.float32)
    top, left = (SIDE_PX - size[1]) // 2, (SIDE_PX - size[0]) // 2
    paper[top : top + size[1], left : left + size[0]] = seen
    about = cv2.getRotationMatrix2D((SIDE_PX / 2 - 0.5, SIDE_PX / 2 - 0.5), -turn_deg, 1.0)
    turned = cv2.warpAffine(
        paper, about, (SIDE_PX, SIDE_PX), flags=cv2.INTER_CUBIC, borderValue=(1.0, 1.0, 1.0)
    )
    rng = np.random.default_rng(run if seed is None else seed)
    grain = cv2.GaussianBlur(rng.normal(0, 1, (SIDE_PX, SIDE_PX)), (0, 0), 0.05 * PER_MM / 2)
    ink = np.clip(turned * (1 - turned), 0, None)
    return np.clip(cv2.GaussianBlur(turned, (0, 0), 1.0) + ink * grain[..., None], 0, 1)


def write(path, linear):
    coded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)
    Image.fromarray(np.round(255 * 0.94 * np.clip(coded, 0, 1)).astype(np.uint8)).save(path)


@pytest.fixture(scope="module")
def page(tmp_path_factory):
    """A page of four patches, and each by itself."""
    place = tmp_path_factory.mktemp("page")
    squares = [square(run, turn) for run, turn in TURNS_DEG.items()]
    for run, one in zip(TURNS_DEG, squares, strict=True):
        write(place / f"run{run}.png", one)
    write(
        place / "page.png", np.block([[[squares[0]], [squares[1]]], [[squares[2]], [squares[3]]]])
    )
    write(place / "twice.png", np.concatenate([squares[0], square(1, 0.0, seed=9)], axis=1))
    return place


def test_each_patch_of_a_page_gives_the_numbers_that_it_gives_alone(page, table_row):
    together = measure_file(page / "page.png")
    assert [m.run for m in together] == list(TURNS_DEG)
    assert len({m.print_id for m in together}) == len(TURNS_DEG)
    off = []
    for m in together:
        (alone,) = measure_file(page / f"run{m.run}.png")
        assert m.fit, m.reasons
        shared = [n for n in ("detail_x", "line_pairs_x", "grain") if n in alone.numbers]
        assert shared
        off += [m.numbers[n].value / alone.numbers[n].value - 1 for n in shared]
    worst = float(np.abs(off).max())
    table_row("four patches in one file (drawn)", f"within {100 * worst:.3f} % of each alone")
    assert worst < 0.002  # the paper's level is that of the page, and light is fitted a patch


def test_two_patches_of_one_run_are_two_prints_and_said_to_be(page):
    one, two = measure_file(page / "twice.png")
    assert one.run == two.run == 1
    assert one.print_id != two.print_id
    assert one.identity != two.identity
    assert all(RunRepeated(1, 2) in m.warnings for m in (one, two))


PLAN = """\
printer = "invented"
paper = "matt"
runs = [
    { run = 1, ppi = 600, mode = "fast", captures = ["page.png"] },
    { run = 2, ppi = 600, mode = "fast", captures = ["page.png"] },
    { run = 3, ppi = 600, mode = "fine", captures = ["page.png"] },
    { run = 4, ppi = 600, mode = "fine", captures = ["page.png"] },
]
"""


def test_plan_names_one_file_for_several_runs_and_what_was_published_is_measured_again(page):
    (page / "plan.toml").write_text(PLAN, "utf-8")
    ended = dotloupe("measure", "plan.toml", "--json", "measured.json", "--quiet", cwd=page)
    assert ended.returncode == 0, ended.stderr
    measured = json.loads((page / "measured.json").read_text("utf-8"))
    assert [m["run"] for m in measured] == [1, 2, 3, 4]
    assert {m["path"] for m in measured} == {"page.png"}
    ended = dotloupe("rank", "plan.toml", "--json", "ranked.json", "--quiet", cwd=page)
    assert ended.returncode == 0, ended.stderr
    ranked = json.loads((page / "ranked.json").read_text("utf-8"))
    assert {place["n"] for place in ranked["criteria"]["detail_x"]["places"]} == {2}
    assert dotloupe("remeasure", "ranked.json", cwd=page).returncode == 0


def test_history_holds_every_patch_of_a_file(page, tmp_path):
    history = tmp_path / "history.db"
    words = ("--printer", "invented", "--paper", "matt", "--mode", "fast", "--date", "2026-03-12")
    ended = dotloupe("track", "add", "page.png", *words, "--history", history, cwd=page)
    assert ended.returncode == 0, ended.stderr
    assert "4 of 4" in ended.stdout
    again = dotloupe("track", "add", "page.png", *words, "--history", history, cwd=page)
    assert "0 of 4" in again.stdout


def test_check_judges_each_patch_of_a_file(page):
    dotloupe("check", "page.png", "--json", "checked.json", cwd=page)
    checked = json.loads((page / "checked.json").read_text("utf-8"))
    assert [c["run"] for c in checked] == list(TURNS_DEG)
