"""A result to be shown to others: absolute paths cut to the folder's and the file's name."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from pathlib import PurePosixPath, PureWindowsPath
from typing import TYPE_CHECKING, Any, TypeVar

from dotloupe.cautions import Caution
from dotloupe.compare.history import HeadVerdict, Trend
from dotloupe.measurement import Measurement, PatchMeasurement

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from dotloupe.report.model import Result

AnyMeasurement = TypeVar("AnyMeasurement", bound=Measurement)


def without_folders(result: Result) -> Result:
    """Return the result with no absolute path of a capture in it.

    Parameters
    ----------
    result : Ranking, Ladder, Trend, HeadVerdict, Effects or Repeatability
        A history holds no paths and is returned as it is.
    """
    if isinstance(result, Trend | HeadVerdict):
        return result
    groups: Mapping[Any, tuple[Measurement, ...]] = result.measurements
    known = {p.path for shots in groups.values() for m in shots for p in m.photographs}
    known |= {o.path for o in result.left_out}
    cuts = {path: cut for path in known if (cut := _cut(path)) != path}
    changed: dict[str, Any] = {
        "measurements": {
            key: tuple(_measurement(m, cuts) for m in shots) for key, shots in groups.items()
        },
        "left_out": tuple(
            replace(o, path=_cut(o.path), reasons=_cautions(o.reasons, cuts))
            for o in result.left_out
        ),
        "cautions": _cautions(result.cautions, cuts),
    }
    return replace(result, **changed)


def _measurement(m: AnyMeasurement, cuts: dict[str, str]) -> AnyMeasurement:
    if isinstance(m, PatchMeasurement):
        sources = {name: tuple(map(_cut, paths)) for name, paths in m.sources.items()}
        m = replace(m, parts=tuple(_measurement(p, cuts) for p in m.parts), sources=sources)
    return replace(
        m,
        path=_cut(m.path),
        reasons=_cautions(m.reasons, cuts),
        warnings=_cautions(m.warnings, cuts),
    )


def _cautions(found: Iterable[Caution], cuts: dict[str, str]) -> tuple[Any, ...]:
    return tuple(_plain(caution, cuts) for caution in found)


def _plain(value: Any, cuts: dict[str, str]) -> Any:
    """Return a caution, or what its fields hold, with every path in it cut."""
    if isinstance(value, str):
        for path, cut in cuts.items():
            value = value.replace(path, cut)
        return _cut(value)
    if isinstance(value, tuple):
        return tuple(_plain(one, cuts) for one in value)
    if is_dataclass(value) and not isinstance(value, type):
        held = {f.name: getattr(value, f.name) for f in fields(value) if f.init}
        return replace(value, **{name: _plain(one, cuts) for name, one in held.items()})
    return value


def _cut(path: str) -> str:
    """Return folder and name of an absolute path, and any other text as it is."""
    for kind in (PurePosixPath, PureWindowsPath):
        if kind(path).is_absolute() and "\n" not in path:
            return "/".join(kind(path).parts[1:][-2:])
    return path
