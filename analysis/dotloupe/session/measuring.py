"""Photographs measured in parallel, each once: what was measured before comes from the cache."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.errors import InputError
from dotloupe.measurement import Measurement, SourceFile, unread
from dotloupe.processes import DIED, in_processes
from dotloupe.session.camera_found import CameraFound, camera_found, named_together
from dotloupe.session.options import DEFAULT_OPTIONS, RunOptions
from dotloupe.session.own_picture_option import marks_round_picture

if TYPE_CHECKING:
    from dotloupe.capture import Capture
    from dotloupe.evaluate import CameraByScale, ReferenceEdge

SHOTS = ("_shot1", "_shot2")


def load_reference_edge(path: Path) -> ReferenceEdge:
    """Read the photograph of a reference edge, and measure the camera on it.

    Raises
    ------
    InputError
        The file cannot be read.
    NotFitError
        No single edge of enough contrast crosses the middle of the frame.
    """
    from dotloupe.capture import load_capture
    from dotloupe.evaluate import reference_edge

    return reference_edge(load_capture(path))


def load_camera_by_scale(one: Path, other: Path, options: RunOptions) -> CameraByScale:
    """Measure two photographs of one print, and find the camera's response from them.

    Parameters
    ----------
    one, other : Path
        From farther and from nearer, in any order.
    options : RunOptions
        How the captures of the run are read.

    Raises
    ------
    InputError
        A file cannot be read.
    NotFitError
        One is not fit or not sharp, they are not of one print and set-up, or not far enough apart.
    """
    from dotloupe.evaluate import camera_by_scale, measure_capture

    options = with_exposures((one, other), options)
    first, second = (measure_capture(read_capture(path, options)) for path in (one, other))
    return camera_by_scale(first, second)


def read_capture(path: Path, options: RunOptions) -> Capture:
    """Read a photograph, its tone curve taken out and its light divided by that of blank paper.

    Each where the options hold what it takes.

    Parameters
    ----------
    path : Path
    options : RunOptions

    Raises
    ------
    InputError
        It cannot be read, or the blank's frame has another size.
    """
    from dotloupe.capture import load_capture, with_exposure_pair, with_flat_field

    capture = load_capture(path, mapped=True)
    if options.exposures is not None:
        capture = with_exposure_pair(capture, options.exposures)
    return capture if options.blank is None else with_flat_field(capture, options.blank)


def with_exposures(paths: Iterable[Path], options: RunOptions) -> RunOptions:
    """Add the first two exposures (`NAME`, `NAME_half`) that lie among files of one set-up.

    Raises
    ------
    InputError
        They are not two exposures of one frame.
    """
    from dotloupe.capture import half_of, load_exposure_pair

    pairs = ((path, half_of(path)) for path in sorted(set(paths)))
    path, half = next(((path, half) for path, half in pairs if half is not None), (None, None))
    if path is None or half is None:
        return options
    return replace(options, exposures=load_exposure_pair(path, half))


def _second_shot_of(path: Path) -> Path | None:
    """Find the second photograph of one print beside the first, and the first beside the second.

    The two are named `NAME_shot1` and `NAME_shot2` and are of one kind of file.
    """
    for one, other in (SHOTS, SHOTS[::-1]):
        if path.stem.endswith(one):
            beside = path.with_name(path.stem.removesuffix(one) + other + path.suffix)
            return beside if beside.is_file() else None
    return None


def measure_file(path: Path, options: RunOptions = DEFAULT_OPTIONS) -> tuple[Measurement, ...]:
    """Read a file and measure each patch in it; one unread is a measurement that is not fit.

    So is one on which the measuring itself fails: it must cost no other capture. It is measured
    on one thread, so that its numbers are the same to the last bit wherever it is done. One
    without a patch's marks is looked up in the picture, where that is given.

    Parameters
    ----------
    path : Path
    options : RunOptions
    """
    import cv2
    from threadpoolctl import threadpool_limits

    cv2.setNumThreads(1)
    try:
        with threadpool_limits(1):
            return _measured(read_capture(path, options), options, _second_shot(path, options))
    except InputError as error:
        return (unread(str(path), str(error).removeprefix(f"{path}: ")),)
    except Exception as error:  # noqa: BLE001  whatever it is, the other captures are measured
        return (unread(str(path), _unforeseen(error)),)


def _second_shot(path: Path, options: RunOptions) -> Capture | None:
    beside = _second_shot_of(path) if options.pair_shots else None
    try:
        return None if beside is None else read_capture(beside, options)
    except InputError:
        return None


def _measured(
    capture: Capture, options: RunOptions, second_shot: Capture | None
) -> tuple[Measurement, ...]:
    from dotloupe.evaluate import measure_own_picture, measure_patches

    found: tuple[Measurement, ...]
    marks = None if options.picture is None else marks_round_picture(capture)
    if options.picture is not None and marks is not None:
        found = (measure_own_picture(capture, options.picture.load(), marks),)
    else:
        found = measure_patches(
            capture,
            camera_mtf=options.camera or options.camera_by_scale,
            viewing_distance_mm=options.viewing_distance_mm,
            second_shot=second_shot,
            true_width_mm=options.true_width_mm,
        )
    blank, pair = (
        None if file is None else SourceFile(file.path, file.sha256)
        for file in (options.blank, options.exposures)
    )
    if blank is None and pair is None:
        return found
    return tuple(
        replace(m, parameters=replace(m.parameters, blank_file=blank, exposures_file=pair))
        for m in found
    )


def _unforeseen(error: Exception) -> str:
    """Describe in one line a failure of measuring that nobody foresaw."""
    what = " ".join(f"{type(error).__name__}: {error}".split())
    return f"measuring it failed ({what}); export it again, and report it if that does not help"


def measure_paths(
    paths: Sequence[Path], options: RunOptions = DEFAULT_OPTIONS, *, use_cache: bool = True
) -> Iterator[Measurement]:
    """Measure files in parallel processes, results in the order given, those of one file together.

    Parameters
    ----------
    paths : sequence of Path
    options : RunOptions
    use_cache : bool
        Take measurements of an earlier run from the cache; else all are measured again.

    Yields
    ------
    Measurement
        Of one patch, or of one file that shows none.

    Raises
    ------
    InputError
        As `with_exposures`.
    """
    from dotloupe.evaluate import fed_turned
    from dotloupe.session import measurement_cache
    from dotloupe.session.cluster import on_cluster
    from dotloupe.storage import cache

    options = with_exposures(paths, options)
    scales = _camera_found(paths, options, use_cache=use_cache)
    options = replace(options, camera_by_scale=options.camera_by_scale or scales.camera)
    measure = partial(measure_file, options=options.for_workers())
    if options.cluster is None:
        run = partial(in_processes, measure, died=_died, meanwhile=read_in_results)
    else:
        run = partial(on_cluster, options.cluster, measure)
    distance_mm = options.viewing_distance_mm
    recall = partial(
        measurement_cache.recall,
        picture=None if options.picture is None else str(options.picture.path),
        camera=None if options.camera is None else options.camera.path,
        camera_by_scale=options.paths_by_scale,
        blank=None if options.blank is None else options.blank.path,
        exposures=None if options.exposures is None else options.exposures.path,
    )
    beside = _beside(paths, options)
    keys = _cache_keys(paths, distance_mm, beside) if use_cache else [None] * len(paths)
    cached = [key is not None and cache.contains(key) for key in keys]
    fresh = run([path for path, found in zip(paths, cached, strict=True) if not found])
    for path, key, found, used in zip(paths, keys, cached, beside, strict=True):
        result = recall(key, path) if found and key is not None else None
        if result is None:
            result = next(run([path]) if found else fresh)
            measurement_cache.keep(result, distance_mm, used)
        if options.progress is not None:
            options.progress(path.name)
        told = (_with_caution(m, scales) for m in result)
        # kept as the patch lies, so that the way it was fed may be said later
        yield from map(fed_turned, told) if options.turned else told
    if not all(cached):
        cache.evict()


def _camera_found(paths: Sequence[Path], options: RunOptions, *, use_cache: bool) -> CameraFound:
    """Camera by two distances of a print of the run, where none is given."""
    given = options.camera is not None or options.camera_by_scale is not None
    together = [] if given or not options.find_camera else named_together(paths)
    if not together:
        return CameraFound()
    alone = replace(options, find_camera=False, turned=False, progress=None)
    return camera_found(measure_paths(together, alone, use_cache=use_cache))


def _with_caution(m: Measurement, scales: CameraFound) -> Measurement:
    """Say of a photograph that is one of two distances why they do not tell of the camera."""
    why = scales.unused.get(m.path)
    if why is None:
        return m
    from dotloupe.evaluate import ScalesNotUsed

    return replace(m, warnings=(*m.warnings, ScalesNotUsed(why)))


def readable(measured: Iterable[Measurement]) -> list[Measurement]:
    """Measurements, all of files that could be read, for a history.

    Raises
    ------
    InputError
        A file could not be read; the message says that nothing was added.
    """
    from dotloupe.report.text import caution_text

    found = list(measured)
    for m in found:
        if not m.sha256:
            reasons = "; ".join(map(caution_text, m.reasons))
            raise InputError(f"{m.path}: {reasons} (nothing was added)")
    return found


def _beside(paths: Sequence[Path], options: RunOptions) -> list[str]:
    """Names of what else goes into each measurement, by content."""
    from dotloupe.storage import cache

    seconds = [_second_shot_of(path) if options.pair_shots else None for path in paths]
    return [
        options.references
        if beside is None
        else f"{options.references} {cache.file_digest(beside)}"
        for beside in seconds
    ]


def _cache_keys(
    paths: Sequence[Path], distance_mm: float, beside: Sequence[str]
) -> list[str | None]:
    from concurrent.futures import ThreadPoolExecutor

    from dotloupe.session.measurement_cache import name_of_file

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        key = partial(name_of_file, viewing_distance_mm=distance_mm)
        return list(pool.map(lambda path, used: key(path, beside=used), paths, beside))


def read_in_results() -> None:
    """Import what measurements are made of and compared by, for one who waits for some."""
    import scipy.optimize  # noqa: F401

    import dotloupe.evaluate.elements
    import dotloupe.fitness.examination  # noqa: F401


def _died(path: Path) -> tuple[Measurement, ...]:
    return (unread(str(path), DIED),)
