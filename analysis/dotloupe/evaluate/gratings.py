"""The gratings of a contrast patch: from the capture to maps of frequency by contrast."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.errors import RegionError
from dotloupe.evaluate.elements import AXES, Readings
from dotloupe.measure.bars import sent_nyquist
from dotloupe.measure.contrast import (
    CellImage,
    ContrastMap,
    GrainPower,
    Grating,
    GratingFit,
    contrast_map,
    field_shift_mm,
    fit_grating,
    grain_power,
    one_grating,
)
from dotloupe.patch import COLOUR_INKS, Axis, Region, channel_swings

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.registration import View

CELL_MARGIN_MM = 0.05
"""Left out along the borders of a cell, where the neighbours blur into it."""


@dataclass(frozen=True)
class _Field:
    """Gratings of one tone and direction, or of one ink."""

    tone: str
    ink: str
    axis: Axis
    regions: tuple[Region, ...]

    @property
    def name(self) -> str:
        return f"gratings_{self.ink or self.tone}_{self.axis}"


def measure_gratings(view: View, viewing_distance_mm: float) -> Readings[ContrastMap]:
    """Measure every grating of a contrast patch, by tone or ink and direction.

    Parameters
    ----------
    view : View
    viewing_distance_mm : float
        From which the print is looked at.
    """
    if view.patch.kind == "contrast" and not view.whole:
        return Readings({}, {"gratings": "only a part is in sight; photograph the whole patch"})
    results, faults = {}, {}
    for field in _fields(view):
        try:
            results[field.name] = _measured(view, field, viewing_distance_mm)
        except RegionError as error:
            faults[field.name] = str(error)
    return Readings(results, faults)


def _fields(view: View) -> list[_Field]:
    grouped: dict[tuple[str, str, Axis], list[Region]] = defaultdict(list)
    for axis in AXES:
        for region in view.regions("grating", axis):
            grouped[region.tone, region.ink, axis].append(region)
    return [_Field(*key, tuple(regions)) for key, regions in grouped.items()]


def _measured(view: View, field: _Field, viewing_distance_mm: float) -> ContrastMap:
    plain = [r for r in view.regions("plain") if r.tone == field.tone]
    if not plain:
        raise RegionError(
            f"no plain tint of {field.tone} gratings is in sight to measure the grain on; "
            "photograph more of the patch"
        )
    grainy, grainy_mm = _grainy(view, field, plain)
    level = float(np.mean([_reflectance(view, r) for r in plain]))
    fits = {r.name: _fit(view, r, field.ink) for r in field.regions}
    shifts = {
        number: _shift_mm([r for r in field.regions if r.number == number], fits)
        for number in {r.number for r in field.regions}
    }
    nyquist = None
    if view.printed_ppi is not None:
        nyquist = sent_nyquist(view.printed_ppi)
    images: dict[tuple[float, float], list[Region]] = defaultdict(list)
    for region in field.regions:
        images[region.frequency, region.modulation].append(region)
    grains: dict[float, GrainPower] = {}
    gratings: list[Grating] = []
    for (frequency, modulation), regions in images.items():
        if frequency not in grains:
            grains[frequency] = grain_power(
                grainy,
                frequency,
                size_mm=_size_mm(regions[0], field.axis),
                cell_mm=grainy_mm,
            )
        gratings.append(
            one_grating(
                [fits[r.name] for r in regions],
                [shifts[r.number] for r in regions],
                grains[frequency],
                frequency=frequency,
                modulation=modulation,
                sent=_sent(regions[0]),
                plain=level,
                carried=nyquist is None or frequency < nyquist,
            )
        )
    per_mm2 = view.pixels_per_mm**2
    return contrast_map(
        gratings,
        tone=field.tone,
        axis=field.axis,
        ink=field.ink,
        grain_power_mm2={f: grain.variance / per_mm2 for f, grain in grains.items()},
        nyquist=nyquist,
        viewing_distance_mm=viewing_distance_mm,
    )


def _grainy(
    view: View, field: _Field, plain: list[Region]
) -> tuple[list[CellImage], tuple[float, float]]:
    """Cells to measure the grain of a field on, and their length and width.

    For greys they are the plain tint. Plain grey may hold no coloured dots where a colour grating
    does: for colour they are the gratings of the same ink that swing along the other axis, with
    those swings taken out.
    """
    if not field.ink:
        images = [_cell_image(view, r, field.axis, "") for r in plain]
        return images, _size_mm(plain[0], field.axis)
    other: Axis = "y" if field.axis == "x" else "x"
    crossing = [r for r in view.regions("grating", other) if r.ink == field.ink]
    if not crossing:
        raise RegionError(
            f"no {field.ink} grating along {other} is in sight to measure the grain on; "
            "photograph more of the patch"
        )
    images = []
    for region in crossing:
        across = _cell_image(view, region, other, field.ink)
        fit = fit_grating(across, region.frequency, size_mm=_size_mm(region, other))
        turn = 2 * np.pi * region.frequency * across.along_mm
        swing = fit.in_phase * np.sin(turn) + fit.quadrature * np.cos(turn)
        images.append(CellImage(across.signal - swing, across.across_mm, across.along_mm))
    return images, _size_mm(crossing[0], field.axis)


def _fit(view: View, region: Region, ink: str) -> GratingFit:
    axis: Axis = "x" if region.direction == "x" else "y"
    image = _cell_image(view, region, axis, ink)
    return fit_grating(image, region.frequency, size_mm=_size_mm(region, axis))


def _shift_mm(regions: list[Region], fits: dict[str, GratingFit]) -> float:
    return field_shift_mm(
        [fits[r.name] for r in regions],
        np.array([r.frequency for r in regions]),
        np.array([_sent(r) for r in regions]),
    )


def _sent(region: Region) -> float:
    """Amplitude sent, in the signal that is measured."""
    swings = np.array(channel_swings(region))
    return float(swings[0]) if not region.ink else float(_against_others(swings, region.ink))


def _cell_image(view: View, region: Region, axis: Axis, ink: str) -> CellImage:
    cut = view.cut(region)
    rows, columns = cut.luminance.shape
    x, y = np.meshgrid(np.arange(columns), np.arange(rows))
    scale = cut.homography[2, 0] * x + cut.homography[2, 1] * y + cut.homography[2, 2]
    place = [
        (cut.homography[i, 0] * x + cut.homography[i, 1] * y + cut.homography[i, 2]) / scale
        - region.centre_mm[i]
        for i in range(2)
    ]
    along, across = place if axis == "x" else place[::-1]
    signal = _against_others(cut.reflectance, ink) if ink else cut.luminance
    return CellImage(signal, along, across)


def _reflectance(view: View, region: Region) -> float:
    """Mean luminance factor of a cell."""
    return float(_cell_image(view, region, "x", "").signal.mean())


def _against_others(channels: FloatArray, ink: str) -> FloatArray:
    """Channel that an ink takes, less the mean of the other two: greys leave it at rest."""
    own = COLOUR_INKS[ink]
    others = np.delete(channels, own, axis=-1)
    return np.asarray(channels[..., own] - others.mean(axis=-1))


def _size_mm(region: Region, axis: Axis) -> tuple[float, float]:
    """Length along an axis and width across it, the margins left out."""
    width, height = (s - 2 * CELL_MARGIN_MM for s in (region.width_mm, region.height_mm))
    return (width, height) if axis == "x" else (height, width)
