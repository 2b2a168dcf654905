"""Pictures of prints from the cache, and those that it lacks made in processes of their own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias, TypeVar

from dotloupe.processes import begin_at_once
from dotloupe.report.crops.crop import Unseen, View, lighting_of
from dotloupe.report.crops.laid_together import jpegs_of_print
from dotloupe.storage import cache

if TYPE_CHECKING:
    from dotloupe.measurement import Measurement

Jpegs: TypeAlias = tuple[bytes, ...]
Thing = TypeVar("Thing")


def begin_jpegs(prints: Sequence[tuple[Measurement, Sequence[View]]]) -> Iterator[Jpegs | Unseen]:
    """Show views of prints as JPEG, in order; photographs are read only for what is not kept.

    Several prints that are not kept begin to be read at once, in processes of their own.
    """
    names = [[_name(m, view) for view in views] for m, views in prints]
    kept = [_kept(m, of_print) for (m, _), of_print in zip(prints, names, strict=True)]
    made = begin_at_once(
        [
            partial(jpegs_of_print, m, _missing(views, found))
            for (m, views), found in zip(prints, kept, strict=True)
            if not all(found)
        ]
    )

    def in_order() -> Iterator[Jpegs | Unseen]:
        for of_print, found in zip(names, kept, strict=True):
            if all(found):
                yield tuple(jpeg for jpeg in found if jpeg is not None)
                continue
            shown = next(made)
            if isinstance(shown, Unseen):
                yield shown
                continue
            if shown.whole:
                for name, jpeg in zip(_missing(of_print, found), shown.jpegs, strict=True):
                    cache.store(name, jpeg)
            fresh = iter(shown.jpegs)
            yield tuple(next(fresh) if jpeg is None else jpeg for jpeg in found)

    return in_order()


def _missing(things: Sequence[Thing], found: Sequence[bytes | None]) -> list[Thing]:
    return [thing for thing, jpeg in zip(things, found, strict=True) if jpeg is None]


def _kept(measurement: Measurement, names: Sequence[str]) -> list[bytes | None]:
    """Load pictures by name, where the photographs are still those that were measured."""
    unchanged = all(map(_is_unchanged, measurement.photographs))
    return [cache.load(name) if unchanged else None for name in names]


def _is_unchanged(measurement: Measurement) -> bool:
    return cache.file_digest(Path(measurement.path)) == measurement.sha256


def _name(measurement: Measurement, view: View) -> str:
    """Name under which a view of a print is kept: of its files, how they are read and lie."""
    return cache.cache_key(
        "picture", view, *(_how_shown(photo) for photo in measurement.photographs)
    )


def _how_shown(measurement: Measurement) -> tuple[object, ...]:
    registration = measurement.registration
    return (
        measurement.sha256,
        Path(measurement.path).suffix.lower(),
        None if registration is None else registration.homography,
        lighting_of(measurement),
        measurement.parameters.blank_file,
        measurement.parameters.exposures_file,
    )
