"""Measurements kept between runs, and runs in parallel: the same numbers, each file once."""

import hashlib
import os
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from dotloupe.measurement import Measurement, Parameters, SourceFile
from dotloupe.number import Number
from dotloupe.session import measurement_cache as kept_measurements, measuring as session
from dotloupe.session.measuring import measure_file, measure_paths
from dotloupe.session.options import RunOptions
from dotloupe.storage import cache

SAMPLES = Path(__file__).parents[2] / "sample_captures" / "quality"


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))


@pytest.fixture
def noted(tmp_path, monkeypatch):
    """Files measured, in order: measuring only notes them, in whichever process it is done."""
    log = tmp_path / "log"
    log.touch()

    def note(path, options):
        viewing_distance_mm = options.viewing_distance_mm
        with log.open("a") as file:
            file.write(f"{Path(path).name}\n")
        number = Number(viewing_distance_mm, 0.0, 1.0, "mm")
        sha256 = hashlib.sha256(Path(path).read_bytes()).hexdigest()
        numbers = {"grain": number}
        return (Measurement(str(path), sha256, Path(path).stem, 1, 600, True, (), (), numbers),)

    monkeypatch.setattr(session, "measure_file", note)
    return lambda: log.read_text().split()


def files(folder, count):
    paths = [folder / f"{n}.jpg" for n in range(count)]
    for n, path in enumerate(paths):
        path.write_bytes(b"photograph %d" % n)
    return paths


def entries():
    return sorted(cache.folder().iterdir())


def test_one_capture_more_costs_one_measurement(tmp_path, noted):
    paths = files(tmp_path, 4)
    first = list(measure_paths(paths[:3]))
    second = list(measure_paths(paths))
    assert sorted(noted()) == ["0.jpg", "1.jpg", "2.jpg", "3.jpg"]
    assert second[:3] == first
    assert [m.path for m in second] == [str(p) for p in paths]


def test_what_a_number_hangs_on_is_part_of_its_name(tmp_path, noted):
    (path,) = files(tmp_path, 1)
    near, far = (
        next(measure_paths([path], RunOptions(viewing_distance_mm=d))) for d in (250.0, 350.0)
    )
    assert (near.numbers["grain"].value, far.numbers["grain"].value) == (250.0, 350.0)
    path.write_bytes(b"another photograph")
    list(measure_paths([path]))
    assert len(noted()) == 3


def test_another_program_measures_anew(tmp_path, noted, monkeypatch):
    paths = files(tmp_path, 1)
    list(measure_paths(paths))
    monkeypatch.setattr(cache, "program", lambda: "another")
    list(measure_paths(paths))
    assert noted() == ["0.jpg", "0.jpg"]


def test_the_same_photograph_elsewhere_keeps_its_new_name(tmp_path, noted):
    (path,) = files(tmp_path, 1)
    list(measure_paths([path]))
    moved = path.rename(tmp_path / "print7_shot2.jpg")
    found = next(measure_paths([moved]))
    assert (found.path, found.print_id, noted()) == (str(moved), "print7", ["0.jpg"])


@pytest.mark.parametrize("harm", ["cut", "bit", "empty", "gone", "foreign"])
def test_a_damaged_entry_is_measured_anew(tmp_path, noted, harm):
    paths = files(tmp_path, 2)
    list(measure_paths(paths))
    for entry in entries():
        whole = entry.read_bytes()
        if harm == "gone":
            entry.unlink()
        else:
            bit = bytearray(whole)
            bit[len(whole) // 2] ^= 4
            entry.write_bytes({"cut": whole[:-9], "bit": bit, "empty": b""}.get(harm, b"x" * 900))
    again = list(measure_paths(paths))
    assert sorted(noted()) == ["0.jpg", "0.jpg", "1.jpg", "1.jpg"]
    assert all(m.fit for m in again)
    list(measure_paths(paths))
    assert len(noted()) == 4


def test_deleting_all_in_the_middle_of_a_run_costs_only_time(tmp_path, noted):
    paths = files(tmp_path, 4)
    before = list(measure_paths(paths))
    run = measure_paths(paths)
    found = [next(run)]
    shutil.rmtree(cache.folder())
    found += run
    assert found == before
    assert len(noted()) == 7


def test_a_folder_that_cannot_be_written_keeps_nothing(tmp_path, noted, monkeypatch):
    (tmp_path / "taken").touch()
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "taken"))
    paths = files(tmp_path, 1)
    for _ in range(2):
        assert next(measure_paths(paths)).fit
    assert noted() == ["0.jpg", "0.jpg"]


def test_what_could_not_be_read_is_not_kept(tmp_path):
    bad = tmp_path / "bad.jpg"
    bad.write_bytes(b"\xff\xd8\xff no photograph")
    assert not next(measure_paths([bad])).fit
    assert not cache.folder().exists()


def test_asked_anew_a_kept_file_is_measured_again(tmp_path, noted):
    paths = files(tmp_path, 1)
    list(measure_paths(paths))
    list(measure_paths(paths, use_cache=False))
    assert noted() == ["0.jpg", "0.jpg"]


@pytest.mark.usefixtures("noted")
def test_the_folder_stays_within_its_size_and_the_oldest_go(tmp_path):
    paths = files(tmp_path, 4)
    list(measure_paths(paths))
    names = [kept_measurements.name_of_file(p, 350.0) for p in paths]
    places = [cache.folder() / name for name in names]
    for age, place in enumerate(places):
        os.utime(place, (1000 + age, 1000 + age))
    cache.load(names[0])  # asked for, so no longer the oldest
    cache.evict(2 * places[0].stat().st_size + 1)
    assert [place.exists() for place in places] == [True, False, False, True]


def test_two_processes_at_once_end_with_one_whole_entry_a_file(tmp_path):
    """Eight writers of the same names: readers see each entry whole or not at all."""
    paths = files(tmp_path, 3)
    program = """
import hashlib, sys
from pathlib import Path
from dotloupe.session.measurement_cache import keep, name_of_file, recall
from dotloupe.measurement import PatchMeasurement
import numpy as np
paths = [Path(p) for p in sys.argv[1:]]
for turn in range(60):
    for path in paths:
        found = recall(name_of_file(path, 350.0), path)
        assert found is None or found[0].lighting.sum() == 50000.0
        sha256 = hashlib.sha256(path.read_bytes()).hexdigest()
        header = (str(path), sha256, "p", 1, 600, True, (), (), {})
        keep((PatchMeasurement(*header, lighting=np.ones(50000)),), 350.0)
"""
    command = [sys.executable, "-c", program, *map(str, paths)]
    running = [subprocess.Popen(command, stderr=subprocess.PIPE) for _ in range(4)]
    told = [process.communicate(timeout=120)[1] for process in running]
    assert [(p.returncode, t) for p, t in zip(running, told, strict=True)] == [(0, b"")] * 4
    assert len(entries()) == 3


def test_in_sequence_in_parallel_and_kept_are_the_same_to_the_last_bit(monkeypatch, same_bits):
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    paths = [SAMPLES / "fine" / "print1.jpg", SAMPLES / "fast" / "print2.jpg"]
    sequence = [measure_file(path)[0] for path in paths]
    parallel = list(measure_paths(paths))
    assert len(entries()) == 2
    monkeypatch.setattr(session, "measure_file", lambda *_, **__: pytest.fail("measured again"))
    again = list(measure_paths(paths))
    for one, *others in zip(sequence, parallel, again, strict=True):
        assert one.fit
        assert all(same_bits(one, other) for other in others)


def test_a_folder_that_may_not_be_looked_into_keeps_nothing(tmp_path, noted, monkeypatch):
    """As one that was made by another user: the system refuses even to say what lies there."""
    paths = files(tmp_path, 1)
    list(measure_paths(paths))
    refused = cache.folder()
    stat = Path.stat

    def refusing(path, **how):
        if refused in path.parents:
            raise PermissionError(13, "Permission denied", str(path))
        return stat(path, **how)

    monkeypatch.setattr(Path, "stat", refusing)
    assert next(measure_paths(paths)).fit
    assert noted() == ["0.jpg", "0.jpg"]


def test_what_another_user_keeps_is_of_use(tmp_path, noted, monkeypatch):
    paths = files(tmp_path, 1)
    list(measure_paths(paths))

    def refusing(path):
        raise PermissionError(1, "Operation not permitted", str(path))

    monkeypatch.setattr(Path, "touch", refusing)
    assert next(measure_paths(paths)).fit
    assert noted() == ["0.jpg"]


@pytest.mark.usefixtures("noted")
def test_what_cannot_be_deleted_keeps_nothing_else_from_it(tmp_path):
    list(measure_paths(files(tmp_path, 2)))
    stuck = cache.folder() / "a"
    stuck.mkdir()
    os.utime(stuck, (0, 0))
    cache.evict(0)
    assert entries() == [stuck]


@pytest.mark.parametrize("given", ["camera", "picture"])
def test_what_was_given_beside_is_named_where_it_lies_now(tmp_path, given):
    shot = tmp_path / "0.jpg"
    shot.write_bytes(b"photograph")
    parameters = Parameters(camera_file=SourceFile("old.tif", "1"), picture="old.tif")
    sha256 = hashlib.sha256(b"photograph").hexdigest()
    one = Measurement(str(shot), sha256, "0", *(1, 600, True, (), (), {}), parameters)
    kept_measurements.keep((one,), 350.0)
    name = kept_measurements.name_of_file(shot, 350.0)
    found = kept_measurements.recall(name, shot, **{given: "new.tif"})[0].parameters
    moved = {"camera": {"camera_file": SourceFile("new.tif", "1")}}
    assert found == replace(parameters, **moved.get(given, {"picture": "new.tif"}))


def test_a_reference_edge_renamed_is_asked_for_by_its_new_name(tmp_path, monkeypatch):
    camera = SimpleNamespace(path="renamed.tif", sha256="1")

    def note(path, options):
        camera = options.camera
        edge = Parameters(camera_file=SourceFile(camera.path, camera.sha256))
        sha256 = hashlib.sha256(Path(path).read_bytes()).hexdigest()
        return (Measurement(str(path), sha256, "0", 1, 600, True, (), (), {}, edge),)

    monkeypatch.setattr(session, "measure_file", note)
    paths = files(tmp_path, 1)
    list(measure_paths(paths, RunOptions(camera=SimpleNamespace(path="blade.tif", sha256="1"))))
    (found,) = measure_paths(paths, RunOptions(camera=camera))
    assert found.parameters.camera_file.path == "renamed.tif"


def test_a_width_told_is_in_the_key_and_the_way_of_feeding_is_not():
    """What is kept is of the patch as it lies: turned feeding is said of it afterwards."""
    plain, told, turned = (
        RunOptions(),
        RunOptions(true_width_mm=28.1),
        RunOptions(turned=True),
    )
    assert told.references != plain.references
    assert RunOptions(true_width_mm=28.2).references != told.references
    assert turned.references == plain.references
