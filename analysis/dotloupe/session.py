"""The run over a test: folders of captures, or its plan, in; measurements out."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from dotloupe.errors import InputError, NotFitError
from dotloupe.measurement import Measurement, unread

if TYPE_CHECKING:
    from dotloupe.plan import Plan, PlannedCapture

VIEWING_DISTANCE_MM = 350.0

Progress = Callable[[str], None]
"""Called with a file's name when it is done."""


def measure_path(path: Path, viewing_distance_mm: float = VIEWING_DISTANCE_MM) -> Measurement:
    """Read and measure one file; one that cannot be read is a measurement that is not fit."""
    import cv2

    from dotloupe.capture.reading import load_capture
    from dotloupe.measurement import measure_capture

    cv2.setNumThreads(1)
    try:
        capture = load_capture(path)
    except InputError as error:
        return unread(str(path), str(error).removeprefix(f"{path}: "))
    return measure_capture(capture, viewing_distance_mm=viewing_distance_mm)


def measure_paths(
    paths: Sequence[Path],
    *,
    viewing_distance_mm: float = VIEWING_DISTANCE_MM,
    progress: Progress | None = None,
) -> Iterator[Measurement]:
    """Measure files in parallel processes, results in the order given."""
    from joblib import Parallel, delayed

    workers = max(1, min(len(paths), os.cpu_count() or 1))
    run = Parallel(n_jobs=workers, return_as="generator")
    calls = (delayed(measure_path)(path, viewing_distance_mm) for path in paths)
    for path, result in zip(paths, run(calls), strict=True):
        if progress is not None:
            progress(path.name)
        yield result


def setting_paths(folders: Iterable[str | Path]) -> dict[str, list[Path]]:
    """Captures of each folder, by the folder's name, which is the setting's.

    Raises
    ------
    InputError
        One folder alone, a folder that is missing or empty, or two of one name.
    """
    from dotloupe.capture.reading import capture_paths

    places = [Path(folder) for folder in folders]
    if len(places) == 1:
        raise InputError(f"{places[0]}: one setting alone; add captures of another to compare")
    settings: dict[str, list[Path]] = {}
    for folder in places:
        name = folder.resolve().name
        if name in settings:
            raise InputError(
                f"{folder}: another folder is named {name!r} too, and a folder's name is its "
                "setting's; rename one"
            )
        settings[name] = capture_paths(folder)
    return settings


def measure_settings(
    settings: Mapping[str, Sequence[Path]], *, progress: Progress | None = None
) -> dict[str, tuple[Measurement, ...]]:
    """Measure every capture of every setting; a fault in one costs no other."""
    results = measure_paths([p for group in settings.values() for p in group], progress=progress)
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
    from dotloupe.plan import load_plan

    return load_plan(files[0])


def compared_captures(plan: Plan, *, ladder: bool = False) -> tuple[PlannedCapture, ...]:
    """Captures of a plan, to rank its settings or to climb its sent ppi.

    Raises
    ------
    InputError
        Photographs of one setting only; for a ladder, of more than one mode or alignment.
    """
    from dotloupe.plan import planned_captures

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
    progress: Progress | None = None,
) -> dict[str, tuple[Measurement, ...]]:
    """Measure the captures of a plan, by setting, each named after the print that the plan states.

    One whose own marks or code say that it shows another print is not fit.
    """
    results = measure_paths(
        [c.path for c in planned], viewing_distance_mm=viewing_distance_mm, progress=progress
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
