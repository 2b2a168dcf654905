"""The session file: what it says, what it refuses, the sheets and measurements made from it."""

import json
import tracemalloc
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import tifffile

from dotloupe.errors import InputError
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number
from dotloupe.patch.patch import Patch
from dotloupe.patch.sheet import GAP_MM, MARGIN_MM, save_on_sheet, slots_mm
from dotloupe.session.planned import compared_captures, measure_planned, plan_given
from dotloupe.session.remeasuring import load_published, remeasure
from dotloupe.session.session_file import load_plan, planned_captures, print_seconds, setting_names

HEAD = 'printer = "desk"\npaper = "lustre"\n'


def run(number, ppi=600, mode="fast", further=""):
    return f'[[runs]]\nrun = {number}\nppi = {ppi}\nmode = "{mode}"\n{further}\n'


def written(folder, *runs, head=HEAD):
    path = folder / "plan.toml"
    path.write_text(head + "".join(runs), "utf-8")
    return path


def photographs(folder, *names):
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(name.encode())


def refusal(path, *words):
    """One line that names the file and holds the words."""
    with pytest.raises(InputError) as caught:
        load_plan(path)
    line = str(caught.value)
    assert "\n" not in line
    for word in (str(path), *words):
        assert word in line


def test_what_a_plan_says(tmp_path):
    further = 'alignment = "before"\nlabel = "fast, lustre"\nprinted = 2026-03-12'
    head = HEAD + "viewing_distance_mm = 300\n[sheet]\nwidth_mm = 210\nheight_mm = 297\n"
    plan = load_plan(written(tmp_path, run(1, further=further), head=head))
    assert (plan.printer, plan.paper, plan.viewing_distance_mm) == ("desk", "lustre", 300)
    assert (plan.sheet.width_mm, plan.sheet.height_mm) == (210, 297)
    first = plan.runs[0]
    assert (first.run, first.ppi, first.mode, first.alignment) == (1, 600, "fast", "before")
    assert first.printed.isoformat() == "2026-03-12"


# lines are those of the text that each case makes: two of the head, five of a run
@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HEAD + run(1) + run(2, ppi=99), ("line 10, ppi", "150", "not 99")),
        (HEAD + run(1, further="pip = 3"), ("line 7, pip", "unknown key", "ppi")),
        (
            HEAD + "[[runs]]\nrun = 1\nppi = 300\nmoed = 'x'\n",
            ("line 6, moed", "did you mean mode?"),
        ),
        (HEAD + "ink = 9\n" + run(1), ("line 3, ink", "unknown key", "viewing_distance_mm")),
        (HEAD + "inks = 9\n" + run(1) + run(2), ("line 3, inks", "string", "not 9")),
        (HEAD + "[[runs]]\nrun = 1\nppi = 300\n", ("line 3, mode", "missing")),
        (HEAD, ("runs", "missing")),
        (HEAD + run(1, ppi='"600"'), ("line 5, ppi", "integer", "not '600'")),
        (HEAD + run(1) + run(1), ("line 9, run", "run 1 is there already")),
        (HEAD + run(250), ("line 4, run", "249", "not 250")),
        (HEAD + run(1, further='printed = "March"'), ("line 7, printed", "date")),
        (HEAD + 'runs = [{run = 1, ppi = 99, mode = "a"}]', ("line 3, ppi", "not 99")),
        (HEAD + run(1, further='captures = ["a"]\nprints = [["b"]]'), ("line 8, prints",)),
        (HEAD + "[[runs]\n", ("line 3", "not valid TOML")),
        ("printer = 'desk'\n[sheet]\nwidth_mm = -1\n", ("line 3, width_mm", "2 more to correct")),
        ("printer = 'desk'\n" + run(1), ("line 2, paper", "missing")),
        (HEAD + run(1, further="factors = {mode = 'a'}"), ("line 7, factors", "of its own")),
    ],
)
def test_a_fault_is_named_with_its_line_and_key(tmp_path, text, words):
    path = tmp_path / "plan.toml"
    path.write_text(text, "utf-8")
    refusal(path, *words)


def test_a_file_that_is_no_text(tmp_path):
    refusal(tmp_path / "none.toml", "no such session file")
    (tmp_path / "latin.toml").write_bytes('printer = "Büro"'.encode("latin-1"))
    refusal(tmp_path / "latin.toml", "UTF-8")
    with pytest.raises(InputError, match="stands alone"):
        plan_given([tmp_path / "plan.toml", tmp_path])
    assert plan_given([tmp_path]) is None


def test_settings_are_named_by_what_differs(tmp_path):
    def named(*runs):
        return setting_names(load_plan(written(tmp_path, *runs)))

    after = 'alignment = "after"'
    assert named(run(1), run(2)) == ("fast", "fast")
    assert named(run(1), run(2, mode="fine")) == ("fast", "fine")
    assert named(run(1, 300), run(2, 600)) == ("300 ppi", "600 ppi")
    assert named(run(1), run(2, further=after)) == ("fast", "after")
    assert named(run(1, 300), run(2, 600, "fine")) == ("fast, 300 ppi", "fine, 600 ppi")
    with pytest.raises(InputError, match="another setting is named 'fast, after'"):
        named(run(1, mode="fast, after"), run(2, further=after))


def test_captures_of_one_print_and_of_several(tmp_path):
    photographs(tmp_path, "fast/a1.jpg", "fast/a2.jpg", "fast/a2.nef", "fast/notes.txt", "b[1].jpg")
    path = written(
        tmp_path,
        run(1, further='captures = ["fast/a*"]'),
        run(2, mode="fine", further='prints = [["b[1].jpg"], ["c.png"]]'),
        run(3, mode="fine"),
    )
    photographs(tmp_path, "c.png")
    found = planned_captures(load_plan(path))
    # the camera file stands for the picture developed from it
    assert [(str(c.path.relative_to(tmp_path)), c.setting, c.print_id) for c in found] == [
        ("fast/a1.jpg", "fast", "run 1"),
        ("fast/a2.nef", "fast", "run 1"),
        ("b[1].jpg", "fine", "run 2, print 1"),
        ("c.png", "fine", "run 2, print 2"),
    ]


@pytest.mark.parametrize(
    ("further", "words"),
    [
        ('captures = ["gone.jpg"]', "line 7, captures: .*gone.jpg is not a file"),
        ('captures = ["g*.jpg"]', "line 7, captures: .*matches no photograph"),
        ('captures = ["a.jpg", "*.jpg"]', "line 7, captures: .*a.jpg is named for run 1 already"),
        ("", 'no run names photographs; add captures = \\["..."\\]'),
    ],
)
def test_captures_that_are_not_there(tmp_path, further, words):
    photographs(tmp_path, "a.jpg")
    with pytest.raises(InputError, match=words):
        planned_captures(load_plan(written(tmp_path, run(1, further=further))))


def test_what_cannot_be_compared(tmp_path):
    photographs(tmp_path, "a.jpg", "b.jpg")
    runs = (run(1, further='captures = ["a.jpg"]'), run(2, mode="fine"))
    with pytest.raises(InputError, match="only one setting"):
        compared_captures(load_plan(written(tmp_path, *runs)))
    runs = (runs[0], run(2, 300, "fine", 'captures = ["b.jpg"]'))
    plan = load_plan(written(tmp_path, *runs))
    assert len(compared_captures(plan)) == 2
    with pytest.raises(InputError, match="differ in mode"):
        compared_captures(plan, ladder=True)


def measurement(path, detail=4.0, **known):
    number = Number(detail, 0.99 * detail, 1.01 * detail, CRITERIA["detail_x"].unit)
    numbers = {"detail_x": number}
    made = Measurement(str(path), str(path), "file", 1, 600.0, True, (), (), numbers)
    return replace(made, **known)


def test_a_capture_of_another_print_is_not_fit(tmp_path, monkeypatch):
    photographs(tmp_path, *"abcd")
    runs = [run(i, further=f'captures = ["{name}"]') for i, name in enumerate("abcd", start=1)]
    seen = [
        measurement(tmp_path / "a"),
        measurement(tmp_path / "b", run=7),
        measurement(tmp_path / "c", run=3, sent_ppi=720.0),
        measurement(tmp_path / "d", run=None, sent_ppi=None),
    ]
    monkeypatch.setattr("dotloupe.session.planned.measure_paths", lambda *_, **__: iter(seen))
    measured = measure_planned(planned_captures(load_plan(written(tmp_path, *runs))))["fast"]
    assert [m.fit for m in measured] == [True, False, False, True]
    assert [m.print_id for m in measured] == ["run 1", "run 2", "run 3", "run 4"]
    assert [str(r) for r in measured[1].reasons] == [
        "its marks say run 7, the session file says run 2; correct the file"
    ]
    assert "720 ppi, the session file 600" in str(measured[2].reasons[0])
    # a code that cannot be read costs nothing: the plan says what was sent
    assert (measured[3].run, measured[3].sent_ppi) == (4, 600.0)


def test_slots_keep_clear_of_each_other_and_of_the_border():
    size = (210.0, 297.0)
    slots = np.array(slots_mm(size, (30.0, 20.0), 36))
    # 180 mm between the margins hold 4 patches of 30 mm with 10 mm between; 267 mm hold 9 of 20 mm
    assert len(np.unique(slots[:, 0])) == 4
    assert len(np.unique(slots[:, 1])) == 9
    assert slots.min() == MARGIN_MM
    assert np.all(slots + np.array((30, 20)) <= np.array(size) - MARGIN_MM)
    steps = np.abs(slots[:, None] - slots[None]) - (30, 20)
    apart = steps.max(axis=2)[~np.eye(36, dtype=bool)]
    assert apart.min() == pytest.approx(GAP_MM)
    # the first slots stay where they are when runs are added
    assert slots_mm(size, (30.0, 20.0), 2) == tuple(map(tuple, slots[:2]))
    with pytest.raises(InputError, match="holds 36 patches, not 37"):
        slots_mm(size, (30.0, 20.0), 37)
    with pytest.raises(InputError, match="holds 0 patches"):
        slots_mm((50.0, 40.0), (30.0, 20.0), 1)


@pytest.mark.parametrize("ppi", [150, 288])
def test_a_sheet_is_white_but_for_its_patch(tmp_path, ppi):
    patch, corner = Patch(ppi, 3, "slot"), (55.0, 45.0)
    path = tmp_path / "sheet.tif"
    save_on_sheet(patch.draw(), ppi, path, sheet_mm=(120.0, 100.0), corner_mm=corner)
    sheet = tifffile.imread(path)
    with tifffile.TiffFile(path) as file:
        tags = file.pages[0].tags
        assert tags["XResolution"].value == (ppi, 1)
        assert tags["Compression"].value == 8  # Adobe deflate, TIFF Technical Note 2
        assert len(tags["StripOffsets"].value) > 1
    assert sheet.shape == (round(100 / 25.4 * ppi), round(120 / 25.4 * ppi), 3)
    left, top = (round(c / 25.4 * ppi) for c in corner)
    drawing = patch.draw()
    slot = np.s_[top : top + drawing.shape[0], left : left + drawing.shape[1]]
    assert np.array_equal(sheet[slot], drawing)
    sheet[slot] = 255
    assert sheet.min() == 255


def test_a_large_sheet_is_not_held_whole(tmp_path):
    """1000 x 800 mm at 400 ppi are 595 megabytes; a strip is one, the patch 0.4."""
    patch = Patch(400)
    patch.draw()
    tracemalloc.start()
    size, corner = (1000.0, 800.0), (15.0, 15.0)
    path = save_on_sheet(patch.draw(), 400, tmp_path / "sheet.tif", sheet_mm=size, corner_mm=corner)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 60e6  # most of it the drawing's own working
    assert path.stat().st_size < 3e6
    with tifffile.TiffFile(path) as file:
        assert file.pages[0].shape == (12598, 15748, 3)


def published(folder, result):
    path = folder / "published.json"
    path.write_text(json.dumps(result), "utf-8")
    return path


@pytest.mark.parametrize("kind", ["rank", "ladder"])
def test_published_numbers_are_measured_again(tmp_path, monkeypatch, kind):
    import hashlib

    from dotloupe.compare.ladder.all_criteria import ladder
    from dotloupe.compare.ranking.ranking import rank

    details = {"a.jpg": 4.0, "b.jpg": 3.0, "c.jpg": 2.0}
    photographs(tmp_path, *details)
    # prints named otherwise than the files: what the plan said must hold again
    made = {
        name: measurement(
            name, d, sha256=hashlib.sha256(name.encode()).hexdigest(), print_id=f"run {name[0]}"
        )
        for name, d in details.items()
    }
    compare = rank if kind == "rank" else ladder
    keys = dict(zip(details, ("a", "b", "c") if kind == "rank" else (600, 300, 150), strict=True))
    result = compare({keys[name]: [m] for name, m in made.items()}).to_dict()
    now = {"a.jpg": 4.0, "b.jpg": 3.3, "c.jpg": 2.01}
    monkeypatch.setattr(
        "dotloupe.session.remeasuring.measure_paths",
        lambda paths, *_, **__: iter([measurement(p, now[p.name], sha256=p.name) for p in paths]),
    )
    found, measurements = remeasure(load_published(published(tmp_path, result)))
    # intervals are 1 % wide: b moved by 10 %, c by 0.5 %
    moved = [(c.criterion, c.subject) for c in found if c.kind == "moved"]
    assert ("detail_x", "b" if kind == "rank" else "300 ppi") in moved
    assert {s for c, s in moved if c == "detail_x"} == {"b" if kind == "rank" else "300 ppi"}
    assert {m.print_id for m in measurements} == {"run a", "run b", "run c"}

    (tmp_path / "b.jpg").write_bytes(b"another")
    (tmp_path / "c.jpg").unlink()
    with pytest.raises(InputError) as caught:
        load_published(published(tmp_path, result))
    assert "b.jpg is not the file published (its hash has changed)" in str(caught.value)
    assert "c.jpg is gone" in str(caught.value)
    assert "a.jpg" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("not json", "not JSON"),
        ("[]", "no ranking, ladder or effects"),
        ('{"criteria": {}}', "captures or parameters cannot be read"),
        ('{"criteria": {}, "captures": [1]}', "captures or parameters cannot be read"),
    ],
)
def test_what_was_not_published(tmp_path, text, words):
    path = Path(tmp_path / "published.json")
    path.write_text(text)
    with pytest.raises(InputError, match=words):
        load_published(path)
    with pytest.raises(InputError, match="no such file"):
        load_published(tmp_path / "none.json")


def test_times_of_prints_are_averaged_by_the_ppi_sent(tmp_path):
    file = tmp_path / "plan.toml"
    runs = [(300, 100.0), (300, 140.0), (600, 250.0), (720, None)]
    tables = [
        f'[[runs]]\nrun = {i}\nppi = {ppi}\nmode = "fine"\n'
        + ("" if seconds is None else f"print_seconds = {seconds}\n")
        for i, (ppi, seconds) in enumerate(runs)
    ]
    file.write_text('printer = "desk"\npaper = "lustre"\n' + "".join(tables))
    assert print_seconds(load_plan(file)) == {300.0: 120.0, 600.0: 250.0}
