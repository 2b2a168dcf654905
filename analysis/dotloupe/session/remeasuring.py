"""Published results measured again, to be corrected line by line."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dotloupe.capture import load_flat_field
from dotloupe.errors import InputError
from dotloupe.measurement import unread
from dotloupe.session.measuring import (
    load_camera_by_scale,
    load_reference_edge,
    measure_paths,
)
from dotloupe.session.options import Progress, RunOptions
from dotloupe.units import VIEWING_DISTANCE_MM

if TYPE_CHECKING:
    from dotloupe.compare import Correction
    from dotloupe.measurement import Measurement


@dataclass(frozen=True)
class PublishedCapture:
    """One photograph that a published result rests on.

    Attributes
    ----------
    group : str
        Its setting, or its sent ppi.
    path : Path
        Where it is now.
    print_id : str
        Its print, as published.
    run : int or None
        Of its patch.
    fed_turned : bool
        It was said that its patch was fed turned by 90 degrees.
    """

    group: str
    path: Path
    print_id: str
    run: int | None
    fed_turned: bool = False


@dataclass(frozen=True)
class Published:
    """A published ranking, ladder or effects, and the photographs that it rests on.

    Attributes
    ----------
    path : Path
        The JSON file.
    result : mapping
        What it holds.
    viewing_distance_mm : float
        That it was measured for.
    camera : Path or None
        The reference edge whose camera was taken out.
    camera_by_scale : (Path, Path) or None
        In place of it, two photographs of one print from farther and from nearer.
    blank : Path or None
        The photograph of blank paper whose light was divided out.
    captures : tuple of PublishedCapture
        Each found, and the same file as then by its hash.
    true_width_mm : float or None
        Width over the corner marks that was measured on the prints.
    """

    path: Path
    result: Mapping[str, Any]
    viewing_distance_mm: float
    camera: Path | None
    camera_by_scale: tuple[Path, Path] | None
    blank: Path | None
    captures: tuple[PublishedCapture, ...]
    true_width_mm: float | None = None


def load_published(path: str | Path) -> Published:
    """Read what `rank`, `ladder` or `effects --json` wrote, and find its photographs.

    A photograph is looked for where the file says, from the working folder and from the file's
    own.

    Raises
    ------
    InputError
        The file is not such a result; a photograph is gone, or is another file than then; more
        than one reference edge or blank sheet was given.
    """
    path = Path(path)
    result = _result(path)
    try:
        named = [
            (
                PublishedCapture(
                    group,
                    Path(shot["path"]),
                    str(shot["print"]),
                    shot.get("run"),
                    bool(shot.get("fed_turned")),
                ),
                str(shot["sha256"]),
            )
            for group, shots in result["captures"].items()
            for shot in shots
        ]
        distance = float(result["parameters"].get("viewing_distance_mm", VIEWING_DISTANCE_MM))
        edges, blanks, scales = (
            [(Path(f["path"]), str(f["sha256"])) for f in result["parameters"].get(name, [])]
            for name in ("reference_edge", "blank_paper", "camera_by_scale")
        )
        widths = {
            float(shot["true_width_mm"])
            for shots in result["captures"].values()
            for shot in shots
            if "true_width_mm" in shot
        }
        if "points" in result:
            _ = [float(capture.group) for capture, _ in named]
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError(
            f"{path}: its captures or parameters cannot be read; give what rank, "
            "ladder or effects --json wrote"
        ) from error
    found = {c.path: _find(c.path, sha256, path.parent) for c, sha256 in named}
    cameras, sheets, distances = (
        [_find(file, sha256, path.parent) for file, sha256 in files]
        for files in (edges, blanks, scales)
    )
    places = (*found.values(), *cameras, *sheets, *distances)
    faults = [place for place in places if isinstance(place, str)]
    if faults:
        raise InputError(f"{path}: {'; '.join(faults)}; put the photographs published back")
    there = tuple(replace(c, path=Path(found[c.path])) for c, _ in named)
    odd = len(distances) not in (0, 2)
    if max(len(cameras), len(sheets), len(widths)) > 1 or odd:
        raise InputError(
            f"{path}: several reference edges, blank sheets or widths, and not which capture "
            "had which; measure the captures of each by themselves"
        )
    camera, blank = (Path(files[0]) if files else None for files in (cameras, sheets))
    far_near = (Path(distances[0]), Path(distances[1])) if distances else None
    return Published(path, result, distance, camera, far_near, blank, there, *widths)


def remeasure(
    published: Published, *, progress: Progress | None = None
) -> tuple[tuple[Correction, ...], tuple[Measurement, ...]]:
    """Measure and compare again with the parameters published.

    Returns
    -------
    corrections : tuple of Correction
        Every published number that moved beyond its interval, and every verdict that changed.
    measurements : tuple of Measurement
        As they are now.

    Raises
    ------
    InputError, NotFitError
        As `rank` and `ladder`.
    """
    from dotloupe.compare import corrections
    from dotloupe.evaluate import fed_turned

    camera = None if published.camera is None else load_reference_edge(published.camera)
    options = RunOptions(
        camera=camera,
        find_camera=False,
        blank=None if published.blank is None else load_flat_field(published.blank),
        viewing_distance_mm=published.viewing_distance_mm,
        true_width_mm=published.true_width_mm,
        progress=progress,
    )
    if published.camera_by_scale is not None:
        found = load_camera_by_scale(*published.camera_by_scale, options)
        options = replace(options, camera_by_scale=found)
    paths = list(dict.fromkeys(c.path for c in published.captures))
    again: dict[str, list[Measurement]] = {}
    for m in measure_paths(paths, options, use_cache=False):
        again.setdefault(m.path, []).append(m)
    groups: dict[str, list[Measurement]] = {}
    for capture in published.captures:
        m = _same_patch(capture, again[str(capture.path)])
        m = fed_turned(m) if capture.fed_turned else m
        groups.setdefault(capture.group, []).append(replace(m, print_id=capture.print_id))
    now = _compared(published, groups)
    measured = tuple(m for group in groups.values() for m in group)
    try:
        return corrections(published.result, now), measured
    except KeyError as error:
        raise InputError(f"{published.path}: lacks {error}; give the file as written") from error


def _same_patch(capture: PublishedCapture, shown: list[Measurement]) -> Measurement:
    """Of the patches that a file shows, the one published; those of one run in their order."""
    if len(shown) == 1:
        return shown[0]
    mine = next((m for m in shown if m.run == capture.run), None)
    if mine is None:
        return unread(str(capture.path), f"it shows no patch of run {capture.run} any more")
    shown.remove(mine)
    return mine


def _compared(published: Published, groups: Mapping[str, Sequence[Measurement]]) -> dict[str, Any]:
    parameters = published.result["parameters"]
    if "points" in published.result:
        from dotloupe.compare.ladder import ladder

        named = {key: parameters[key] for key in ("criterion", "share") if key in parameters}
        return ladder({float(ppi): shots for ppi, shots in groups.items()}, **named).to_dict()
    if "factors" in published.result:
        from dotloupe.compare.effects import effects

        return effects(groups, published.result["settings"]).to_dict()
    from dotloupe.compare.ranking import rank

    weights, distance = parameters.get("weights"), published.viewing_distance_mm
    return rank(groups, weights=weights, viewing_distance_mm=distance).to_dict()


def _result(path: Path) -> Mapping[str, Any]:
    try:
        result = json.loads(path.read_text("utf-8"))
    except FileNotFoundError as error:
        raise InputError(f"{path}: there is no such file; check the name") from error
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror}); check it") from error
    except (ValueError, RecursionError) as error:
        raise InputError(f"{path}: not JSON; give the file that was published") from error
    if not isinstance(result, dict) or not {"points", "criteria"} & set(result):
        raise InputError(
            f"{path}: no ranking, ladder or effects; give what one of them wrote with --json"
        )
    return result


def _find(file: Path, sha256: str, folder: Path) -> Path | str:
    """Where a photograph is, or what is wrong with it."""
    try:
        present = [place for place in (file, folder / file) if place.is_file()]
    except OSError as error:
        return f"{file} cannot be read ({error.strerror})"
    if not present:
        return f"{file} is gone"
    for place in present:
        with place.open("rb") as opened:
            if hashlib.file_digest(opened, "sha256").hexdigest() == sha256:
                return place
    return f"{present[0]} is not the file published (its hash has changed)"
