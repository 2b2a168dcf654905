"""The head: where each drop lands, by pass, direction, nozzle and chance."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from dotloupe.errors import InputError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray
    from dotloupe.simulate.printer import Alignment, Mode, Printer
    from dotloupe.simulate.sheet import Window


_SHEET_SWATHS = 256


@dataclass(frozen=True)
class Dots:
    """Every dot of one ink plane.

    Attributes
    ----------
    ink : str
        Name of the ink.
    x_mm, y_mm : 1-D float32 arrays
        Centres from the top left corner of the sent picture.
    error_x_um, error_y_um : 1-D float32 arrays
        How far each landed from its place on the lattice.
    volume : 1-D float32 array
        Drop volume over the nominal one.
    satellite_x_mm, satellite_y_mm : 1-D float32 arrays
        Centres of the satellites.
    """

    ink: str
    x_mm: FloatArray
    y_mm: FloatArray
    error_x_um: FloatArray
    error_y_um: FloatArray
    volume: FloatArray
    satellite_x_mm: FloatArray
    satellite_y_mm: FloatArray

    @property
    def count(self) -> int:
        """Number of dots, satellites not counted."""
        return self.x_mm.size

    @property
    def mean_error_um(self) -> tuple[float, float]:
        """Mean (x, y) by which the dots missed their places; NaN without dots."""
        if not self.count:
            return (float("nan"), float("nan"))
        return (float(self.error_x_um.mean(dtype=float)), float(self.error_y_um.mean(dtype=float)))

    def inside(self, window_mm: Window) -> Dots:
        """Only the dots, and only the satellites, that lie in a window."""
        left, top, right, low = window_mm
        x, y = self.x_mm, self.y_mm
        held = (x >= left) & (x < right) & (y >= top) & (y < low)
        x, y = self.satellite_x_mm, self.satellite_y_mm
        near = (x >= left) & (x < right) & (y >= top) & (y < low)
        return Dots(
            ink=self.ink,
            x_mm=self.x_mm[held],
            y_mm=self.y_mm[held],
            error_x_um=self.error_x_um[held],
            error_y_um=self.error_y_um[held],
            volume=self.volume[held],
            satellite_x_mm=self.satellite_x_mm[near],
            satellite_y_mm=self.satellite_y_mm[near],
        )


def pass_of(
    printer: Printer, mode: Mode, rows: NDArray[np.int64], cols: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Number of the pass that prints a place of the lattice, and of the nozzle.

    The head is `nozzles_per_ink` nozzles tall; every pass advances the paper by its height over
    the number of passes. A pass of kind q (q = pass modulo passes) prints the rows and columns
    that interlacing leaves to that kind.

    Parameters
    ----------
    printer : Printer
    mode : Mode
    rows, cols : ndarray of int
        Places of the dot lattice.

    Raises
    ------
    InputError
        Where the passes do not divide among the interlaced rows.
    """
    interlace = printer.rows_interlaced
    if mode.passes % interlace:
        raise InputError(
            f"mode {mode.name}: {mode.passes} passes do not divide among {interlace} "
            f"interlaced rows: give a multiple of {interlace}"
        )
    columns = mode.passes // interlace
    kind = rows % interlace + interlace * (cols % columns)
    height = printer.nozzles_per_ink * interlace
    advance = height // mode.passes
    from_kind = rows - kind * advance
    number = mode.passes * (from_kind // height) + kind
    return number, (from_kind % height) // interlace


def place_dots(
    dots: NDArray[np.bool_],
    ink_number: int,
    printer: Printer,
    mode: Mode,
    alignment: Alignment,
    *,
    first_row: int,
    rng: np.random.Generator,
    feed_rng: np.random.Generator,
) -> Dots:
    """Land a drop for every true place of the lattice `dots`.

    `first_row` is the place of the picture on the sheet, in lattice rows, which decides which
    pass prints what. The errors are drawn for the whole lattice, so that one dot more or less
    moves no other. `feed_rng` must start equal for all inks: they share the paper's feed.
    """
    shape = dots.shape
    error_x = rng.standard_normal(shape, dtype=np.float32)[dots] * np.float32(mode.jitter_x_um)
    error_y = rng.standard_normal(shape, dtype=np.float32)[dots] * np.float32(mode.jitter_y_um)
    volume = rng.standard_normal(shape, dtype=np.float32)[dots]
    volume = np.maximum(1.0 + np.float32(mode.volume_variation) * volume, np.float32(0.2))
    throws = rng.random(shape, dtype=np.float32)[dots] < mode.satellite_share

    row, col = (place.astype(np.int64) for place in np.nonzero(dots))
    number, nozzle = pass_of(printer, mode, row + first_row, col)
    forward = np.where((number % 2 == 0) | (not mode.bidirectional), 1.0, -1.0).astype(np.float32)

    aim = np.random.default_rng([printer.serial, ink_number])
    aim_um = aim.standard_normal((printer.nozzles_per_ink, 2)) * printer.nozzle_aim_um
    feed_um = feed_errors_um(mode, feed_rng)
    name = printer.inks[ink_number].name
    plane_x_um, plane_y_um = alignment.plane_um(name)
    swing_um = 0.5 * alignment.bidirectional_um if mode.bidirectional else 0.0

    error_x += (aim_um[nozzle, 0] + plane_x_um).astype(np.float32) + forward * swing_um
    error_y += (aim_um[nozzle, 1] + plane_y_um).astype(np.float32)
    error_y += feed_um[number % feed_um.size] + feed_bias_um(printer, mode)[nozzle]

    x_mm = ((col + 0.5) * printer.pitch_x_um + error_x) / 1000.0
    y_mm = ((row + 0.5) * printer.pitch_y_um + error_y) / 1000.0
    satellite_mm = forward[throws] * mode.satellite_um / 1000.0
    return Dots(
        ink=name,
        x_mm=x_mm.astype(np.float32),
        y_mm=y_mm.astype(np.float32),
        error_x_um=error_x,
        error_y_um=error_y,
        volume=volume,
        satellite_x_mm=(x_mm[throws] + satellite_mm).astype(np.float32),
        satellite_y_mm=y_mm[throws].astype(np.float32),
    )


def feed_errors_um(mode: Mode, rng: np.random.Generator) -> FloatArray:
    """Chance error of the paper's place at each pass, by the pass number modulo its length."""
    passes = _SHEET_SWATHS * mode.passes
    return np.asarray(rng.standard_normal(passes) * mode.feed_error_um, dtype=np.float32)


def feed_bias_um(printer: Printer, mode: Mode) -> FloatArray:
    """Place of each nozzle's dots by the feeds' common error, the whole sheet's scale taken out.

    A nozzle that prints late in the head's way over the paper has had more feeds behind it:
    the error grows in line along the head, and jumps where two swaths meet.
    """
    along = (np.arange(printer.nozzles_per_ink) + 0.5) / printer.nozzles_per_ink
    bias_um = mode.feed_bias_um * mode.passes * (0.5 - along)
    return np.asarray(bias_um, dtype=np.float32)
