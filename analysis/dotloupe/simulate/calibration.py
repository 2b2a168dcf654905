"""The printer's own calibration: what reflectance a coverage of each ink prints."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.simulate.driver import separate
from dotloupe.simulate.ink_curves import InkCurves
from dotloupe.simulate.inking import lay_ink
from dotloupe.simulate.printer import Alignment

if TYPE_CHECKING:
    from dotloupe.arrays import FloatArray
    from dotloupe.simulate.paper import Paper
    from dotloupe.simulate.printer import Mode, Printer

_STEPS = (0.0, 0.01, 0.03, 0.06, 0.10, 0.16, 0.24, 0.34, 0.48, 0.70, 1.0)
_GREYS = (0.0, 0.02, 0.05, 0.1, 0.18, 0.3, 0.45, 0.6, 0.75, 0.88, 1.0)
_STEP_MM = 1.13
_INNER_MM = 0.12
_PIXELS_PER_MM = 160.0


@lru_cache(maxsize=16)
def calibrate(printer: Printer, mode: Mode, paper: Paper) -> InkCurves:
    """Print a strip of each ink and one of greys, aligned, and read the curves off them.

    Parameters
    ----------
    printer : Printer
    mode : Mode
    paper : Paper
    """
    coverage = np.array(_STEPS) * printer.max_coverage
    strips = np.zeros((4, 4, coverage.size))
    strips[np.arange(4), np.arange(4)] = coverage
    printed = _print_blocks(strips, printer, mode, paper)
    surface = paper.surface_reflectance
    density = -np.log10((printed - surface) / (1.0 - surface))
    density -= density[:, :1]
    density = np.maximum.accumulate(density, axis=1)
    density += np.arange(coverage.size)[:, None] * 1e-9
    black = float(printed[3, -1].mean())
    unit = np.array([0.0, 1.0])
    curves = InkCurves(coverage, density, surface, black, unit, unit)

    sent = np.array(_GREYS)
    target = np.repeat((black + (1.0 - black) * sent)[:, None], 3, axis=1)[None]
    planes = np.stack(separate(target, curves, printer))
    greys = _print_blocks(planes, printer, mode, paper)[0].mean(axis=1)
    got = np.maximum.accumulate((greys - black) / (1.0 - black))
    got += np.arange(sent.size) * 1e-9
    corrected = np.interp(sent, got, sent)
    return InkCurves(coverage, density, surface, black, sent, corrected)


def _print_blocks(planes: FloatArray, printer: Printer, mode: Mode, paper: Paper) -> FloatArray:
    """Mean reflectance (rows, columns, 3) of blocks of even coverage, planes (4, rows, columns)."""
    places = (
        round(_STEP_MM * 1000.0 / printer.pitch_y_um),
        round(_STEP_MM * 1000.0 / printer.pitch_x_um),
    )
    lattice = [np.kron(plane, np.ones(places)).astype(np.float32) for plane in planes]
    reflectance, _ = lay_ink(
        lattice,
        printer,
        mode,
        Alignment(),
        paper,
        seed=printer.serial,
        pixels_per_mm=_PIXELS_PER_MM,
        margin_mm=0.0,
    )
    rows, cols = planes.shape[1:]
    height_mm = places[0] * printer.pitch_y_um / 1000.0
    width_mm = places[1] * printer.pitch_x_um / 1000.0
    means = np.empty((rows, cols, 3))
    for row, col in np.ndindex(rows, cols):
        top, low = (
            (row * height_mm + m) * _PIXELS_PER_MM for m in (_INNER_MM, height_mm - _INNER_MM)
        )
        left, right = (
            (col * width_mm + m) * _PIXELS_PER_MM for m in (_INNER_MM, width_mm - _INNER_MM)
        )
        block = reflectance[:, round(top) : round(low), round(left) : round(right)]
        means[row, col] = block.mean(axis=(1, 2))
    return means
