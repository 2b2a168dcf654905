"""The pictures of a report: every print whole, and close-ups of the same places, as files."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import ceil, log2
from pathlib import Path, PurePath
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.number import Measurand, Quantity
from dotloupe.report.crops.crop import NO_PLACE, Box, Unseen, View
from dotloupe.report.crops.kept import begin_jpegs
from dotloupe.report.model import Setting
from dotloupe.report.text import difference_place_name, element_name
from dotloupe.storage import write_bytes

if TYPE_CHECKING:
    from dotloupe.compare.visibility import DifferencePlace
    from dotloupe.measurement import Measurement
    from dotloupe.patch import Patch, Region

PICTURES = "pictures"

WHOLE_BUDGET_BYTES = 16_000_000
"""For the whole prints together, so that a report of a dozen captures stays easy to pass on."""

SCALE_STEPS = 4
"""Steps from one scale of the whole prints to half of it, so that one capture more seldom changes
the scale, and with it the pictures of all others."""

FINEST_WHOLE = 100.0
FINEST_CLOSE = 200.0
"""Pixels per mm: a dot of an inkjet printer, some 30 um, takes about five."""

CLOSE_MM = 2.0
WHOLE_QUALITY, CLOSE_QUALITY = 80, 88


@dataclass(frozen=True)
class Layer:
    """A picture file and the box of the patch that it shows."""

    path: str
    box: Box
    pixels_per_mm: float


@dataclass(frozen=True)
class PrintPictures:
    """The pictures of one capture: the whole patch, then close-ups by name of the place."""

    label: str
    whole: Layer
    close: Mapping[str, Layer]


@dataclass(frozen=True)
class Pictures:
    """The pictures of a report.

    Attributes
    ----------
    size_mm : (float, float)
        Of the patch.
    regions : tuple of Region
        Places to jump to.
    places : mapping of str to str
        Places shown close up, and their names for people.
    differences : tuple of str
        Those of them where the settings differ most to the eye, the greatest first.
    by_setting : mapping of str to tuple of PrintPictures
    missing : tuple of str
        Captures that cannot be shown, and why.
    """

    size_mm: tuple[float, float]
    regions: tuple[Region, ...]
    places: Mapping[str, str]
    differences: tuple[str, ...]
    by_setting: Mapping[str, tuple[PrintPictures, ...]]
    missing: tuple[str, ...]


SHOWN_BY = {Quantity.DETAIL: "edge", Quantity.LINE_PAIRS: "bars", Quantity.GRAIN: "tint"}
"""Kind of element that shows what a criterion measures."""


def write_pictures(
    settings: Sequence[Setting],
    folder: Path,
    decided_by: Iterable[Measurand] = (),
    differences: Sequence[DifferencePlace] = (),
) -> Pictures:
    """Write the pictures of every capture that can be read again.

    Parameters
    ----------
    settings : sequence of Setting
    folder : Path
    decided_by : iterable of Measurand
        What the settings differ in: close-ups that show it stand first.
    differences : sequence of DifferencePlace
        Where they differ most to the eye: these places stand before all others.
    """
    (folder / PICTURES).mkdir(exist_ok=True)
    patch = _patch_of(settings)
    if patch is None:
        unplaced = tuple(
            f"{PurePath(m.path).name}: {NO_PLACE}" for s in settings for m in s.measurements
        )
        return Pictures((0.0, 0.0), (), {}, (), {s.name: () for s in settings}, unplaced)
    apart = {f"difference_{n}": place for n, place in enumerate(differences, start=1)}
    of_elements = _places(settings, patch.regions, decided_by)
    places = {name: _square(place) for name, place in apart.items()} | of_elements
    whole = Box(0.0, 0.0, *patch.size_mm)
    views = (
        View(whole, _affordable_scale(settings, whole), WHOLE_QUALITY),
        *(View(box, FINEST_CLOSE, CLOSE_QUALITY) for box in places.values()),
    )
    prints = [(m, _views_on(m, views, patch)) for s in settings for m in s.measurements]
    each_seen = begin_jpegs(prints)
    by_setting: dict[str, tuple[PrintPictures, ...]] = {}
    missing: list[str] = []
    number = 0
    for setting in settings:
        shown: list[PrintPictures] = []
        for m in setting.measurements:
            seen = next(each_seen)
            if isinstance(seen, Unseen):
                missing.append(f"{PurePath(m.path).name}: {seen.reason}")
                continue
            number += 1
            base = f"{PICTURES}/print_{number:02d}"
            paths = (f"{base}.jpg", *(f"{base}_{name}.jpg" for name in places))
            for path, jpeg in zip(paths, seen, strict=True):
                write_bytes(folder / path, jpeg)
            whole_layer, *close = (
                Layer(path, view.box, view.pixels_per_mm)
                for path, view in zip(paths, views, strict=True)
            )
            shown.append(
                PrintPictures(m.print_id, whole_layer, dict(zip(places, close, strict=True)))
            )
        by_setting[setting.name] = tuple(shown)
    names = {
        name: difference_place_name(number, place)
        for number, (name, place) in enumerate(apart.items(), start=1)
    }
    names |= {name: element_name(patch.regions[name]) for name in of_elements}
    regions = tuple(patch.regions.values())
    return Pictures(patch.size_mm, regions, names, tuple(apart), by_setting, tuple(missing))


def _views_on(m: Measurement, views: Sequence[View], patch: Patch) -> tuple[View, ...]:
    """Views of what `patch` has there, where a print has another size: its whole, and close-ups."""
    own = None if m.registration is None else m.registration.patch
    if own is None or own.scale == patch.scale:
        return tuple(views)
    ratio = own.scale / patch.scale
    whole, *close = (
        replace(
            view,
            box=Box(
                ratio * (view.box.x_mm + view.box.width_mm / 2) - size * view.box.width_mm / 2,
                ratio * (view.box.y_mm + view.box.height_mm / 2) - size * view.box.height_mm / 2,
                size * view.box.width_mm,
                size * view.box.height_mm,
            ),
            pixels_per_mm=view.pixels_per_mm / size,
        )
        for view, size in zip(views, (ratio, *(1.0 for _ in views[1:])), strict=True)
    )
    return whole, *close


def _affordable_scale(settings: Sequence[Setting], whole: Box) -> float:
    """Pixels per mm at which all whole prints together keep to their budget.

    Judged by the middle of the first that can be shown.
    """
    middle = Box(whole.width_mm / 4, whole.height_mm / 4, whole.width_mm / 2, whole.height_mm / 2)
    captures = [m for s in settings for m in s.measurements]
    for m in captures:
        if m.registration is None:
            continue
        finest = min(FINEST_WHOLE, m.registration.pixels_per_mm)
        sample = next(begin_jpegs([(m, [View(middle, finest, WHOLE_QUALITY)])]))
        if not isinstance(sample, Unseen):
            size = 4 * len(sample[0]) * len(captures)
            halvings = max(0.0, 0.5 * log2(size / WHOLE_BUDGET_BYTES))
            return float(finest * 0.5 ** (ceil(SCALE_STEPS * halvings) / SCALE_STEPS))
    return FINEST_WHOLE


def _patch_of(settings: Iterable[Setting]) -> Patch | None:
    for setting in settings:
        for m in setting.measurements:
            if m.registration is not None and (printed := m.registration.printed) is not None:
                return printed.patch
    return None


def _places(
    settings: Sequence[Setting], regions: Mapping[str, Region], decided_by: Iterable[Measurand]
) -> dict[str, Box]:
    """Places that tell most: bars near the limit in both directions, an edge, a mid-tone tint."""
    chosen: list[Region] = []
    for axis in ("x", "y"):
        limits = [
            m.numbers[f"line_pairs_{axis}"].value
            for s in settings
            for m in s.measurements
            if f"line_pairs_{axis}" in m.numbers
        ]
        bars = [r for r in regions.values() if r.kind == "bars" and r.direction == axis]
        if bars and limits:
            middle = float(np.median(limits))
            chosen.append(min(bars, key=lambda r: abs(np.log(r.frequency / middle))))
    edges = [r for r in regions.values() if r.kind == "edge"]
    greys = {r.name: r.reflectance for r in regions.values() if r.reflectance is not None}
    chosen += [edges[len(edges) // 6]] if edges else []
    middle_grey = min(greys, key=lambda name: (abs(greys[name] - 0.4), name), default=None)
    chosen += [regions[middle_grey]] if middle_grey else []
    shown = {(SHOWN_BY.get(m.quantity), m.axis) for m in decided_by}
    of_all = {kind for kind, axis in shown if not axis}
    chosen.sort(key=lambda r: r.kind not in of_all and (r.kind, r.direction) not in shown)
    return {r.name: _around(r) for r in chosen}


def _square(place: DifferencePlace) -> Box:
    half = place.side_mm / 2
    return Box(place.x_mm - half, place.y_mm - half, place.side_mm, place.side_mm)


def _around(region: Region) -> Box:
    x, y = region.centre_mm
    return Box(x - CLOSE_MM / 2, y - CLOSE_MM / 2, CLOSE_MM, CLOSE_MM)
