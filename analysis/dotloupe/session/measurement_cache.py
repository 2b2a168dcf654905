"""Measurements kept between runs, so that a photograph is measured once."""

from __future__ import annotations

import pickle
from dataclasses import dataclass, replace
from pathlib import Path

from dotloupe.measurement import Measurement, Parameters, print_id
from dotloupe.storage import cache


def name_of_file(path: Path, viewing_distance_mm: float, beside: str = "") -> str | None:
    """Name of a photograph's measurement; None where the file cannot be read.

    `beside` names what else went into it: the picture that it was compared with, the reference
    edge of its camera, blank paper.
    """
    content = cache.file_digest(path)
    return None if content is None else _name(content, path.suffix, viewing_distance_mm, beside)


def recall(
    name: str,
    path: Path,
    *,
    picture: str | None = None,
    camera: str | None = None,
    camera_by_scale: tuple[str, str] | None = None,
    blank: str | None = None,
    exposures: str | None = None,
) -> tuple[Measurement, ...] | None:
    """Return what was measured on a file, as of the one at `path`; None where there is none whole.

    `picture`, `camera`, `camera_by_scale`, `blank` and `exposures` are where the picture, the
    reference edge, the two distances of one print, the photograph of blank paper and the brighter
    of two exposures lie now.
    """
    content = cache.load(name)
    if content is None:
        return None
    try:
        found: tuple[Measurement, ...] = pickle.loads(content)  # noqa: S301  whole, and of this very program
    except (pickle.UnpicklingError, EOFError):
        return None
    lying = _Lying(picture, camera, camera_by_scale, blank, exposures)
    return tuple(
        replace(
            m,
            path=str(path),
            print_id=m.print_id.replace(print_id(m.path), print_id(str(path)), 1),
            parameters=_lying_now(m.parameters, path, lying),
        )
        for m in found
    )


def keep(
    measurements: tuple[Measurement, ...], viewing_distance_mm: float, beside: str = ""
) -> None:
    """Keep the measurements of a file that could be read."""
    one = measurements[0]
    if not one.sha256:
        return
    name = _name(one.sha256, Path(one.path).suffix, viewing_distance_mm, beside)
    cache.store(name, pickle.dumps(measurements, protocol=pickle.HIGHEST_PROTOCOL))


@dataclass(frozen=True)
class _Lying:
    """Where the references of a run lie now."""

    picture: str | None
    camera: str | None
    camera_by_scale: tuple[str, str] | None
    blank: str | None
    exposures: str | None


def _lying_now(parameters: Parameters, path: Path, now: _Lying) -> Parameters:
    """Parameters of a measurement whose references may have been moved since."""
    edge, sheet, second = parameters.camera_file, parameters.blank_file, parameters.second_shot
    if second is not None:
        beside = path.with_name(Path(second.path).name)
        parameters = replace(parameters, second_shot=replace(second, path=str(beside)))
    if now.picture is not None and parameters.picture is not None:
        parameters = replace(parameters, picture=now.picture)
    if now.camera is not None and edge is not None:
        parameters = replace(parameters, camera_file=replace(edge, path=now.camera))
    scales = parameters.camera_by_scale
    if now.camera_by_scale is not None and scales is not None:
        far, near = (replace(f, path=p) for f, p in zip(scales, now.camera_by_scale, strict=True))
        parameters = replace(parameters, camera_by_scale=(far, near))
    if now.blank is not None and sheet is not None:
        parameters = replace(parameters, blank_file=replace(sheet, path=now.blank))
    pair = parameters.exposures_file
    if now.exposures is not None and pair is not None:
        parameters = replace(parameters, exposures_file=replace(pair, path=now.exposures))
    return parameters


def _name(sha256: str, suffix: str, viewing_distance_mm: float, beside: str) -> str:
    return cache.cache_key(
        "measurement", sha256, suffix.lower(), float(viewing_distance_mm), beside
    )
