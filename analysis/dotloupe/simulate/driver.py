"""The driver: from the picture that was sent to the share of each ink on the printer's raster."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_array

from dotloupe.errors import InputError
from dotloupe.patch import srgb_decode

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray
    from dotloupe.simulate.ink_curves import InkCurves
    from dotloupe.simulate.printer import Printer

_SEPARATION_STEPS = 6
_LOBES = 4


def _coded_to_unit(picture: NDArray[np.generic]) -> FloatArray:
    """Sent picture (h, w, 3) of 8 or 16 bits as float32 from 0 to 1, still sRGB-coded."""
    if picture.ndim != 3 or picture.shape[2] != 3 or picture.dtype not in (np.uint8, np.uint16):
        raise InputError(
            f"picture to print: shape {picture.shape} of {picture.dtype}: "
            "give (h, w, 3) of uint8 or uint16, sRGB-coded"
        )
    top = 255.0 if picture.dtype == np.uint8 else 65535.0
    return np.asarray(picture.astype(np.float32) / top, dtype=np.float32)


def _windowed_sinc(x: FloatArray) -> FloatArray:
    """Sinc in a raised cosine of four lobes: flat within half a per cent up to 0.3 cycles."""
    window = np.cos(0.5 * np.pi * x / _LOBES) ** 2
    return np.where(np.abs(x) < _LOBES, np.sinc(x) * window, 0.0)


def resampling_matrix(sent: int, sent_ppi: float, raster_ppi: float) -> csr_array:
    """Weights that take one axis of `sent` pixels to the raster, both starting at the same edge.

    The kernel is as wide as the coarser of the two pitches, so that a finer picture is averaged
    and not decimated. It passes what a printer can show unweakened wherever the pixels of one
    fall on those of the other, so no ratio of the two resolutions is favoured.

    Parameters
    ----------
    sent : int
        Pixels of the picture along the axis.
    sent_ppi, raster_ppi : float
        Pixels per inch of the picture and of the printer's raster.
    """
    made = max(1, round(sent * raster_ppi / sent_ppi))
    ratio = sent_ppi / raster_ppi
    centre = (np.arange(made) + 0.5) * ratio - 0.5
    width = max(1.0, ratio)
    reach = int(np.ceil(_LOBES * width))
    offset = np.arange(-reach, reach + 2)
    source = np.floor(centre).astype(int)[:, None] + offset
    weight = _windowed_sinc((source - centre[:, None]) / width)
    weight /= weight.sum(axis=1, keepdims=True)
    rows = np.repeat(np.arange(made), offset.size)
    cols = np.clip(source, 0, sent - 1).ravel()
    return csr_array((weight.ravel().astype(np.float32), (rows, cols)), shape=(made, sent))


def resample(unit: FloatArray, sent_ppi: float, raster_ppi: float) -> FloatArray:
    """Coded picture (h, w, 3) on the printer's raster, clipped to 0..1."""
    height, width = unit.shape[:2]
    down = resampling_matrix(height, sent_ppi, raster_ppi)
    across = resampling_matrix(width, sent_ppi, raster_ppi)
    tall = (down @ unit.reshape(height, -1)).reshape(down.shape[0], width, 3)
    wide = across @ tall.transpose(1, 0, 2).reshape(width, -1)
    raster = wide.reshape(across.shape[0], down.shape[0], 3).transpose(1, 0, 2)
    return np.clip(raster, 0.0, 1.0)


def _black_share(depth: FloatArray, onset: float) -> FloatArray:
    """Share of the neutral density that black ink takes, by `depth` of the densest black."""
    x = np.clip((depth - onset) / (1.0 - onset), 0.0, 1.0)
    return x * x * (3.0 - 2.0 * x)


def separate(target: FloatArray, curves: InkCurves, printer: Printer) -> tuple[FloatArray, ...]:
    """Coverage of cyan, magenta, yellow and black that prints `target` reflectance (h, w, 3).

    Densities of inks add where their dots fall independently, so each ink's curve is read at
    what the others leave of its own band, in a few rounds.
    """
    surface = curves.surface
    density = -np.log10(np.maximum((target - surface) / (1.0 - surface), 1e-4))
    neutral = density.min(axis=2)
    full_black = curves.density_of(3, np.array([printer.max_coverage])).mean()
    share = _black_share(np.minimum(neutral / full_black, 1.0), printer.black_onset)
    black = curves.coverage_of(3, 1, share * neutral)
    left = density - curves.density_of(3, black)

    colours = [np.zeros_like(neutral) for _ in range(3)]
    layers = [np.zeros_like(left) for _ in range(3)]
    for _ in range(_SEPARATION_STEPS):
        for ink in range(3):
            others = sum(layers[other][..., ink] for other in range(3) if other != ink)
            colours[ink] = curves.coverage_of(ink, ink, left[..., ink] - others)
            layers[ink] = curves.density_of(ink, colours[ink])
    return (*colours, black)


def drive(
    picture: NDArray[np.generic], sent_ppi: float, curves: InkCurves, printer: Printer
) -> tuple[FloatArray, ...]:
    """Coverage of every place of the dot lattice by each ink, for a sent picture.

    The printed reflectance of a large area is black + (1 - black) times the sent one, both
    relative to paper.

    Parameters
    ----------
    picture : ndarray of shape (rows, columns, 3)
        Of 8 or 16 bits, sRGB-coded.
    sent_ppi : float
        Pixels per inch of the picture.
    curves : InkCurves
        Of this printer, with its mode and paper.
    printer : Printer
    """
    raster = resample(_coded_to_unit(picture), sent_ppi, printer.raster_ppi)
    linear = curves.correct(srgb_decode(raster))
    target = curves.black + (1.0 - curves.black) * linear
    repeat_x = round(printer.dots_per_inch_x / printer.raster_ppi)
    repeat_y = round(printer.dots_per_inch_y / printer.raster_ppi)
    return tuple(
        np.repeat(np.repeat(plane, repeat_y, axis=0), repeat_x, axis=1).astype(np.float32)
        for plane in separate(target, curves, printer)
    )
