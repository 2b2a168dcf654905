"""Whether the noise power of a tint is the same all over its region."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.errors import RegionError
from dotloupe.measure.grain.even_tint import block_means
from dotloupe.measure.uncertainty import student_quantile
from dotloupe.units import NORMAL_95

BLOCKS = 6
"""Blocks a side that are compared."""
CELLS = 2
"""Cells a side of a block; what they differ by is chance."""
LEAST_CELL_PX = 4
"""Least side of a cell."""
CHANCE = 1e-6
"""Chance at which even grain counts as uneven."""
MOST_UNEVEN = 0.3
"""Standard deviation of the power over a region, as a share, from which it is refused."""


@dataclass(frozen=True)
class PowerChange:
    """How the noise power changes over a region, beyond what chance does.

    Attributes
    ----------
    share : float
        Standard deviation of the change over the mean power; 0 where none is seen.
    variance : float
        Relative variance of the mean power that such a change brings.
    """

    share: float
    variance: float


def power_change(first: FloatArray, second: FloatArray) -> PowerChange:
    """Change of the noise power over a region.

    The variance within small cells leaves out what reaches over several of them, so that a few
    slow waves of the grain are not taken for a change of its power. How the cells of one block
    differ is chance; blocks that differ by more than that are uneven.

    Parameters
    ----------
    first, second : ndarray, shape (h, w)
        A tint without its trend, and the second shot of it, or the first again.
    """
    from scipy.special import fdtrc

    none = PowerChange(0.0, 0.0)
    if min(first.shape) < CELLS * BLOCKS * LEAST_CELL_PX:
        return none
    cells = _cell_covariances(first, second)
    mean = float(cells.mean())
    if mean <= 0:
        return none
    cells = cells.reshape(BLOCKS, CELLS, BLOCKS, CELLS).swapaxes(1, 2) / mean - 1
    relative = cells.mean(axis=(2, 3))
    chance = float(cells.var(axis=(2, 3), ddof=1).mean()) / CELLS**2
    between = float(relative.var(ddof=1))
    degrees = relative.size - 1, relative.size * (CELLS**2 - 1)
    if fdtrc(*degrees, between / max(chance, 1e-30)) > CHANCE:
        return none
    waves = np.cos(np.pi * np.arange(3)[:, None] * (np.arange(BLOCKS) + 0.5) / BLOCKS)
    waves /= np.linalg.norm(waves, axis=1)[:, None]
    orders = np.add.outer(np.arange(3), np.arange(3))
    slow = (waves @ relative @ waves.T)[(orders > 0) & (orders < 3)] ** 2
    wide = float(student_quantile(slow.size)) / NORMAL_95
    return PowerChange(
        share=float(np.sqrt(max(between - chance, 0.0))),
        variance=wide**2 * float(slow.mean()) / relative.size,
    )


def check_even_power(first: FloatArray, second: FloatArray) -> None:
    """Refuse a tint whose grain is another in one part of its region than in another."""
    share = power_change(first, second).share
    if share > MOST_UNEVEN:
        raise RegionError(
            f"the grain is uneven: its power varies by {100 * share:.0f} % over the region; "
            "measure parts of it by themselves, or light it evenly and without gloss"
        )


def _cell_covariances(first: FloatArray, second: FloatArray) -> FloatArray:
    """Covariance of two fields within each cell of a region, shape (cells, cells)."""
    count = BLOCKS * CELLS
    common, one = block_means(first * second, count, count), block_means(first, count, count)
    return common - one * (one if second is first else block_means(second, count, count))
