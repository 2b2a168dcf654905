"""The run over a test: folders of captures, or its plan, in; measurements out."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.errors import InputError, NotFitError
from dotloupe.measurement import Measurement, unread
from dotloupe.session.own_picture_file import OwnPictureFile, sent, shows_no_patch
from dotloupe.session.worker_processes import DIED, in_processes
from dotloupe.storage import as_text
from dotloupe.units import VIEWING_DISTANCE_MM

if TYPE_CHECKING:
    from dotloupe.evaluate import ReferenceEdge
    from dotloupe.session.plan import Plan, PlannedCapture

Progress = Callable[[str], None]
"""Called with a file's name when it is done."""


def camera_of(path: Path) -> ReferenceEdge:
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


def measure_path(
    path: Path,
    viewing_distance_mm: float = VIEWING_DISTANCE_MM,
    picture: OwnPictureFile | None = None,
    camera: ReferenceEdge | None = None,
) -> Measurement:
    """Read and measure one file; one that cannot be read is a measurement that is not fit.

    So is one on which the measuring itself fails: it must cost no other capture. It is measured
    on one thread, so that its numbers are the same to the last bit wherever it is done. One
    without a patch's marks is looked up in the picture, where that is given.
    """
    import cv2
    from threadpoolctl import threadpool_limits

    from dotloupe.capture import load_capture
    from dotloupe.evaluate import measure_capture

    cv2.setNumThreads(1)
    try:
        with threadpool_limits(1):
            capture = load_capture(path)
            if picture is not None and shows_no_patch(capture):
                return measure_capture(capture, picture=sent(picture))
            return measure_capture(
                capture, camera_mtf=camera, viewing_distance_mm=viewing_distance_mm
            )
    except InputError as error:
        return unread(str(path), str(error).removeprefix(f"{path}: "))
    except Exception as error:  # noqa: BLE001  whatever it is, the other captures are measured
        return unread(str(path), failed_reason(error))


def failed_reason(error: Exception) -> str:
    """Say in one line that measuring a capture failed in a way that nobody foresaw."""
    what = " ".join(f"{type(error).__name__}: {error}".split())
    return f"measuring it failed ({what}); export it anew, and report it if that does not help"


def measure_paths(
    paths: Sequence[Path],
    *,
    viewing_distance_mm: float = VIEWING_DISTANCE_MM,
    picture: OwnPictureFile | None = None,
    camera: ReferenceEdge | None = None,
    progress: Progress | None = None,
    anew: bool = False,
    cluster: str | None = None,
) -> Iterator[Measurement]:
    """Measure files in parallel processes, results in the order given.

    Parameters
    ----------
    paths : sequence of Path
    viewing_distance_mm : float
    picture : OwnPictureFile, optional
    camera : ReferenceEdge, optional
        Taken out of edges and grain of patches.
    progress : callable, optional
        Told of each file that is done.
    anew : bool
        Measure those too whose measurement was kept from an earlier run.
    cluster : str, optional
        Address of a Dask scheduler whose workers are to measure, in place of this machine's.
    """
    from dotloupe.session import measurement_cache as kept_measurements
    from dotloupe.session.cluster import on_cluster
    from dotloupe.storage import cache as kept

    beside = [] if picture is None else [picture.name]
    beside += [] if camera is None else [f"camera {camera.sha256}"]
    named = " ".join(beside)
    recall = partial(
        kept_measurements.recall,
        picture=None if picture is None else str(picture.path),
        camera=None if camera is None else camera.path,
    )
    measure = partial(measure_path, viewing_distance_mm=viewing_distance_mm)
    if picture is not None:
        measure = partial(measure, picture=picture)
    if camera is not None:
        measure = partial(measure, camera=camera)
    if cluster is None:
        run = partial(in_processes, measure, died=_died)
    else:
        run = partial(on_cluster, cluster, measure)
    names = [None] * len(paths) if anew else _names(paths, viewing_distance_mm, named)
    there = [name is not None and kept.is_kept(name) for name in names]
    fresh = run([path for path, found in zip(paths, there, strict=True) if not found])
    for path, name, found in zip(paths, names, there, strict=True):
        result = recall(name, path) if found and name is not None else None
        if result is None:
            result = next(run([path]) if found else fresh)
            kept_measurements.keep(result, viewing_distance_mm, named)
        if progress is not None:
            progress(path.name)
        yield result
    if not all(there):
        kept.clear_out()


def _names(paths: Sequence[Path], viewing_distance_mm: float, beside: str) -> list[str | None]:
    """Names under which the measurements of files are kept."""
    from concurrent.futures import ThreadPoolExecutor

    from dotloupe.session.measurement_cache import name_of_file

    with ThreadPoolExecutor(os.cpu_count()) as pool:
        name = partial(name_of_file, viewing_distance_mm=viewing_distance_mm, beside=beside)
        return list(pool.map(name, paths))


def _died(path: Path) -> Measurement:
    return unread(str(path), DIED)


def setting_paths(folders: Iterable[str | Path]) -> dict[str, list[Path]]:
    """Captures of each folder, by the folder's name, which is the setting's.

    Raises
    ------
    InputError
        One folder alone, a folder that is missing or empty, or two of one name.
    """
    from dotloupe.capture import capture_paths

    places = [Path(folder) for folder in folders]
    if len(places) == 1:
        raise InputError(f"{places[0]}: one setting alone; add captures of another to compare")
    settings: dict[str, list[Path]] = {}
    for folder in places:
        name = as_text(folder.resolve().name)
        if name in settings:
            if [place.resolve() for place in places].count(folder.resolve()) > 1:
                raise InputError(f"{folder}: given twice; compare it with another folder")
            raise InputError(
                f"{folder}: another folder is named {name!r} too, and a folder's name is its "
                "setting's; rename one"
            )
        settings[name] = capture_paths(folder)
    return settings


def measure_settings(
    settings: Mapping[str, Sequence[Path]],
    *,
    picture: OwnPictureFile | None = None,
    camera: ReferenceEdge | None = None,
    progress: Progress | None = None,
    cluster: str | None = None,
) -> dict[str, tuple[Measurement, ...]]:
    """Measure every capture of every setting; a fault in one costs no other."""
    paths = [path for group in settings.values() for path in group]
    results = measure_paths(
        paths, picture=picture, camera=camera, progress=progress, cluster=cluster
    )
    return {name: tuple(next(results) for _ in group) for name, group in settings.items()}


def plan_given(places: Sequence[Path]) -> Plan | None:
    """Return the plan where a session file is given in place of folders or captures.

    Raises
    ------
    InputError
        A session file beside anything else, or one at fault.
    """
    files = [place for place in places if place.suffix.lower() == ".toml"]
    if not files:
        return None
    if len(places) > 1:
        raise InputError(f"{files[0]}: a session file stands alone; give it and nothing else")
    from dotloupe.session.plan import load_plan

    return load_plan(files[0])


def compared_captures(plan: Plan, *, ladder: bool = False) -> tuple[PlannedCapture, ...]:
    """Captures of a plan, to rank its settings or to climb its sent ppi.

    Raises
    ------
    InputError
        Photographs of one setting only; for a ladder, of more than one mode or alignment.
    """
    from dotloupe.session.plan import planned_captures

    planned = planned_captures(plan)
    if len({c.setting for c in planned}) == 1:
        raise InputError(
            f"{plan.path}: one setting alone has photographs; add captures of another to compare"
        )
    lines = sorted({(c.run.mode, c.run.alignment) for c in planned})
    if ladder and len(lines) > 1:
        names = "; ".join(", ".join(filter(None, line)) for line in lines)
        raise InputError(
            f"{plan.path}: a ladder climbs one mode and alignment, these are {names}; "
            "give each a session file of its own"
        )
    return planned


def measure_planned(
    planned: Sequence[PlannedCapture],
    *,
    viewing_distance_mm: float = VIEWING_DISTANCE_MM,
    picture: OwnPictureFile | None = None,
    camera: ReferenceEdge | None = None,
    progress: Progress | None = None,
    cluster: str | None = None,
) -> dict[str, tuple[Measurement, ...]]:
    """Measure the captures of a plan, by setting, each named after the print that the plan states.

    One whose own marks or code say that it shows another print is not fit.
    """
    results = measure_paths(
        [c.path for c in planned],
        viewing_distance_mm=viewing_distance_mm,
        picture=picture,
        camera=camera,
        progress=progress,
        cluster=cluster,
    )
    settings: dict[str, list[Measurement]] = {}
    for capture, measured in zip(planned, results, strict=True):
        settings.setdefault(capture.setting, []).append(_as_planned(capture, measured))
    return {name: tuple(group) for name, group in settings.items()}


def _as_planned(capture: PlannedCapture, m: Measurement) -> Measurement:
    run = capture.run
    if m.run not in (None, run.run):
        reason = f"its marks say run {m.run}, the session file run {run.run}; mend the file"
    elif m.sent_ppi is not None and m.sent_ppi != run.ppi:
        reason = f"its code says {m.sent_ppi:g} ppi, the session file {run.ppi}; mend the file"
    else:
        return replace(m, print_id=capture.print_id, run=run.run, sent_ppi=float(run.ppi))
    return replace(unread(m.path, reason), print_id=capture.print_id)


def with_named_ppi(
    settings: Mapping[str, Sequence[Measurement]],
) -> dict[str, tuple[Measurement, ...]]:
    """Photographs of one's own picture carry no code: their folder's name says the sent ppi.

    Raises
    ------
    InputError
        A folder's name holds no number, or more than one.
    """
    named: dict[str, tuple[Measurement, ...]] = {}
    for name, group in settings.items():
        silent = [m.sent_ppi is None and "own_picture" in m.details for m in group]
        ppi = named_ppi(name)
        if any(silent) and ppi is None:
            raise InputError(
                f"{name}: photographs of a picture do not say how it was sent; name their folder "
                "after the ppi, as ppi360, or give a session file"
            )
        named[name] = tuple(
            replace(m, sent_ppi=ppi) if unsaid else m
            for m, unsaid in zip(group, silent, strict=True)
        )
    return named


def named_ppi(name: str) -> float | None:
    """Sent ppi that a setting's name says; None where it holds no number, or more than one."""
    numbers = re.findall(r"\d+", name)
    return float(numbers[0]) if len(numbers) == 1 else None


def by_sent_ppi(measurements: Iterable[Measurement]) -> dict[float, list[Measurement]]:
    """Fit measurements by the sent ppi that their patches' codes, or their plan, name.

    Raises
    ------
    InputError
        A capture's code could not be read.
    """
    measurements = list(measurements)
    if not any(m.fit for m in measurements):
        raise NotFitError("no capture was fit to be measured; dotloupe check says what to mend")
    rungs: dict[float, list[Measurement]] = {}
    for m in measurements:
        if m.fit and m.sent_ppi is None:
            raise InputError(
                f"{m.path}: its code cannot be read, so the sent ppi is unknown; photograph it "
                "sharper, leave it out or name its ppi in a session file"
            )
        if m.fit and m.sent_ppi is not None:
            rungs.setdefault(m.sent_ppi, []).append(m)
    return dict(sorted(rungs.items()))
