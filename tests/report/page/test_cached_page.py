"""What a page shows is made once: plots and pictures kept between runs, and never a stale one."""

import pickle
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import matplotlib as mpl
import numpy as np
import pytest

import dotloupe
from dotloupe.capture.loading import load_capture
from dotloupe.compare.ranking.ranking import rank
from dotloupe.measurement import CameraState, Parameters
from dotloupe.report.model import ranking_model
from dotloupe.report.plots import files as plot_files
from dotloupe.report.plots.files import ranking_plots, write_drawings
from dotloupe.report.plots.readings import all_readings
from dotloupe.report.text import ranking_screen
from dotloupe.storage import cache

FOCUS_MM = np.array([[2.0, 3.0], [28.0, 17.0]])


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


@pytest.fixture(scope="module")
def shots(pictured):
    """Photographs of two settings by name, none as sharp as another."""
    softness = iter((0.1, 0.15, 0.2, 0.25))
    return {
        name: tuple(with_focus(m, next(softness)) for m in group)
        for name, group in pictured.measurements.items()
    }


@pytest.fixture(scope="module")
def reported(shots, tmp_path_factory):
    """The report of `shots`, and the cache as it left it."""
    place = tmp_path_factory.mktemp("reported")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(place / "cache"))
        dotloupe.write_report(rank(shots), place / "page")
    return SimpleNamespace(page=place / "page", cache=place / "cache")


@pytest.fixture
def first(reported, tmp_path):
    """Files of the report of `shots`, after which the cache is as it is here."""
    shutil.copytree(reported.cache, tmp_path / "cache")
    return files(reported.page)


@pytest.fixture
def done(monkeypatch):
    """Photographs read and plots drawn, by name, in order."""
    read, drawn = [], []
    load, draw = load_capture, plot_files.draw_svg

    def loading(path):
        read.append(Path(path).name)
        return load(path)

    def drawing(what, *places):
        drawn.append(what)
        return draw(what, *places)

    monkeypatch.setattr("dotloupe.capture.load_capture", loading)
    monkeypatch.setattr(plot_files, "draw_svg", drawing)
    # where it is counted, and not in other processes
    monkeypatch.setattr("os.cpu_count", lambda: 1)
    return SimpleNamespace(read=read, drawn=drawn)


def write_all_plots(ranking, folder):
    model = ranking_model(ranking)
    plots = ranking_plots(model, all_readings(model))
    write_drawings(plots, ranking_screen(model), model.settings, folder)


def with_focus(m, softer):
    focus = SimpleNamespace(
        places_mm=FOCUS_MM, softer=np.array([0.0, softer]), names=("one", "other")
    )
    return replace(m, fitness=SimpleNamespace(focus=focus, sharpness=None))


def files(folder):
    return {
        p.relative_to(folder).as_posix(): p.read_bytes() for p in folder.rglob("*") if p.is_file()
    }


def entries(kind):
    return sorted(cache.folder().glob(f"*.{kind}"))


def test_the_second_run_draws_nothing_reads_no_photograph_and_writes_the_same(
    shots, tmp_path, done
):
    dotloupe.write_report(rank(shots), tmp_path / "first")
    assert len(done.drawn) > 15
    assert set(done.read) == {Path(m.path).name for group in shots.values() for m in group}
    done.drawn.clear()
    done.read.clear()
    dotloupe.write_report(rank(shots), tmp_path / "second")
    assert (done.drawn, done.read) == ([], [])
    assert files(tmp_path / "second") == files(tmp_path / "first")


def test_a_report_made_in_processes_is_the_one_made_here(shots, tmp_path, monkeypatch):
    for cores in (1, 2):
        monkeypatch.setattr("os.cpu_count", lambda cores=cores: cores)
        monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / f"cache of {cores}"))
        dotloupe.write_report(rank(shots), tmp_path / f"page of {cores}")
    made = files(tmp_path / "page of 2")
    assert made == files(tmp_path / "page of 1")
    assert sum(name.endswith(".svg") for name in made) > 15
    # what processes made is kept here
    assert len(entries("plot")) == sum(name.endswith(".svg") for name in made)


def test_nothing_that_draws_is_loaded_where_nothing_is_drawn(shots, tmp_path):
    few = rank({name: group[:1] for name, group in shots.items()})
    result = tmp_path / "result.pickle"
    result.write_bytes(pickle.dumps(few))
    program = """
import pickle, sys
from pathlib import Path
import dotloupe
dotloupe.write_report(pickle.loads(Path(sys.argv[1]).read_bytes()), sys.argv[2])
print(*(name in sys.modules for name in ("matplotlib", "joblib", "scipy.stats")))
"""
    command = [sys.executable, "-c", program, str(result), str(tmp_path / "page")]
    said = [subprocess.run(command, capture_output=True, text=True).stdout for _ in range(2)]
    # processes draw where there are several cores
    assert said[0] in ("False True False\n", "True False False\n")
    assert said[1] == "False False False\n"


def test_one_capture_more_is_one_photograph_read_and_its_own_plots_drawn(shots, tmp_path, done):
    fewer = {"fast": shots["fast"], "fine": shots["fine"][:1]}
    dotloupe.write_report(rank(fewer), tmp_path / "fewer")
    done.read.clear()
    done.drawn.clear()
    dotloupe.write_report(rank(shots), tmp_path / "more")
    assert done.read == [Path(shots["fine"][1].path).name]
    more = files(tmp_path / "more")
    same = [name for name, svg in files(tmp_path / "fewer").items() if more[name] == svg]
    # of the other setting, and of the photograph that was there
    for name in ("readings_1_x", "readings_1_y", "focus_1_1", "focus_1_2", "focus_2_1"):
        assert f"plots/{name}.svg" in same
    plots = [name for name in more if name.startswith("plots/")]
    assert len(done.drawn) == len(plots) - sum(name in same for name in plots)


@pytest.mark.parametrize("harm", ["bit", "gone"])
def test_what_is_damaged_or_gone_is_made_again(shots, first, tmp_path, done, harm):
    harmed = (*entries("plot")[:2], *entries("picture")[:2])
    whole = {entry: entry.read_bytes() for entry in harmed}
    for entry, content in whole.items():
        entry.unlink()
        if harm == "bit":
            bit = bytearray(content)
            bit[len(content) // 2] ^= 4
            entry.write_bytes(bit)
    dotloupe.write_report(rank(shots), tmp_path / "second")
    assert len(done.drawn) == 2
    assert files(tmp_path / "second") == first
    assert {entry: entry.read_bytes() for entry in harmed} == whole


def test_a_photograph_that_is_another_now_is_not_shown_from_what_was_kept(pictured, tmp_path):
    groups = {name: list(group) for name, group in pictured.measurements.items()}
    m = groups["fast"][0]
    copy = tmp_path / "print.png"
    copy.write_bytes(Path(m.path).read_bytes())
    groups["fast"][0] = replace(m, path=str(copy))
    dotloupe.write_report(rank(groups), tmp_path / "report")
    copy.write_bytes(Path(groups["fine"][0].path).read_bytes())
    text = dotloupe.write_report(rank(groups), tmp_path / "report").read_text("utf-8")
    assert "the file is not the one that was measured any more" in text
    copy.unlink()
    text = dotloupe.write_report(rank(groups), tmp_path / "report").read_text("utf-8")
    assert "no such file" in text
    assert f"{copy}: {copy}" not in text


def test_another_program_draws_and_shows_anew(shots, first, tmp_path, done, monkeypatch):
    monkeypatch.setattr(cache, "program", lambda: "another")
    dotloupe.write_report(rank(shots), tmp_path / "second")
    assert len(done.drawn) == sum(name.startswith("plots/") for name in first)
    assert files(tmp_path / "second") == first


def changed(shots, **how):
    return {name: tuple(replace(m, **how) for m in group) for name, group in shots.items()}


VARIED = {
    "settings named otherwise": lambda s: rank({"fast": s["fast"], "finest": s["fine"]}),
    "in another order": lambda s: rank(dict(reversed(s.items()))),
    "seen from farther": lambda s: rank(s, viewing_distance_mm=400.0),
    "the camera taken out": lambda s: rank(
        changed(s, parameters=Parameters(camera=CameraState.TAKEN_OUT))
    ),
    "a print less": lambda s: rank({"fast": s["fast"][:1], "fine": s["fine"]}),
    "softer": lambda s: rank({n: [with_focus(m, 0.3) for m in g] for n, g in s.items()}),
}


@pytest.mark.parametrize("varied", VARIED.values(), ids=VARIED)
def test_no_plot_is_taken_for_another(shots, first, tmp_path, monkeypatch, varied):
    """Of what is changed by little, the plots beside kept ones are those that are drawn alone."""
    beside, alone = tmp_path / "beside", tmp_path / "alone"
    for folder in (beside, alone):
        folder.mkdir()
    write_all_plots(varied(shots), beside)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "another cache"))
    write_all_plots(varied(shots), alone)
    drawn = files(alone)
    assert drawn == files(beside)
    assert any(first.get(name) != svg for name, svg in drawn.items() if name.endswith(".svg"))


def test_what_a_person_set_for_own_plots_does_not_enter(ranking, tmp_path, monkeypatch):
    for name, size in (("usual", 10), ("own", 17)):
        (tmp_path / name).mkdir()
        monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / f"cache of {name}"))
        with mpl.rc_context({"legend.fontsize": size, "lines.markersize": size}):
            write_all_plots(ranking, tmp_path / name)
    assert files(tmp_path / "own") == files(tmp_path / "usual")


def test_processes_at_once_write_the_same_page(shots, tmp_path):
    few = rank({name: group[:1] for name, group in shots.items()})
    result = tmp_path / "result.pickle"
    result.write_bytes(pickle.dumps(few))
    program = """
import pickle, sys
from pathlib import Path
import dotloupe
dotloupe.write_report(pickle.loads(Path(sys.argv[1]).read_bytes()), sys.argv[2])
"""
    places = [tmp_path / f"page{n}" for n in range(3)]
    running = [
        subprocess.Popen([sys.executable, "-c", program, result, place], stderr=subprocess.PIPE)
        for place in places
    ]
    told = [process.communicate(timeout=240)[1] for process in running]
    assert told == [b""] * 3
    drawn, *others = map(files, places)
    assert all(other == drawn for other in others)
    assert not list(cache.folder().glob(".part_*"))
    dotloupe.write_report(few, tmp_path / "after")
    assert files(tmp_path / "after") == drawn


@pytest.mark.parametrize("value", [object(), np.array([object()]), {1, 2}], ids=type)
def test_what_has_no_content_to_go_by_names_nothing(value):
    with pytest.raises(TypeError, match="no content for a cache key"):
        cache.cache_key("plot", [value])


def test_names_go_by_every_part():
    parts = (1.0, 2.0, "1.0", None, [1.0], np.array([1.0]), np.array([1.0], np.float32))
    names = [cache.cache_key(kind, part) for kind in ("plot", "picture") for part in parts]
    assert len(set(names)) == len(names)
    assert cache.cache_key("plot", np.float64(1.0)) == cache.cache_key("plot", 1.0)
    assert cache.cache_key("plot", "a\nb") != cache.cache_key("plot", "a", "b")
