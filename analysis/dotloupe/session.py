"""The run over a test: folders of captures in, measurements out."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from dotloupe.errors import InputError
from dotloupe.measurement import Measurement, unread

Progress = Callable[[str], None]
"""Called with a file's name when it is done."""


def measure_path(path: Path) -> Measurement:
    """Read and measure one file; one that cannot be read is a measurement that is not fit."""
    import cv2

    from dotloupe.capture.reading import load_capture
    from dotloupe.measurement import measure_capture

    cv2.setNumThreads(1)
    try:
        capture = load_capture(path)
    except InputError as error:
        return unread(str(path), str(error).removeprefix(f"{path}: "))
    return measure_capture(capture)


def measure_paths(
    paths: Sequence[Path], *, progress: Progress | None = None
) -> Iterator[Measurement]:
    """Measure files in parallel processes, results in the order given."""
    from joblib import Parallel, delayed

    workers = max(1, min(len(paths), os.cpu_count() or 1))
    run = Parallel(n_jobs=workers, return_as="generator")
    for path, result in zip(paths, run(delayed(measure_path)(p) for p in paths), strict=True):
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


def by_sent_ppi(measurements: Iterable[Measurement]) -> dict[float, list[Measurement]]:
    """Fit measurements by the sent ppi that their patches' codes name.

    Raises
    ------
    InputError
        A capture's code could not be read.
    """
    rungs: dict[float, list[Measurement]] = {}
    for m in measurements:
        if m.fit and m.sent_ppi is None:
            raise InputError(
                f"{m.path}: its code cannot be read, so the sent ppi is unknown; photograph it "
                "sharper or leave it out"
            )
        if m.fit and m.sent_ppi is not None:
            rungs.setdefault(m.sent_ppi, []).append(m)
    return dict(sorted(rungs.items()))
