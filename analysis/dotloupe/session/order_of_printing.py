"""In which order the runs of a plan are printed, so that drift is no choice's effect."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


def printing_order(
    runs: Mapping[str, Sequence[int]], *, seed: int = 0
) -> tuple[tuple[int, ...], ...]:
    """Order of printing in blocks: each block holds a print of every setting that has one left.

    Parameters
    ----------
    runs : mapping of str to sequence of int
        Setting to the numbers of its runs.
    seed : int
        The same seed gives the same order.

    Returns
    -------
    tuple of tuple of int
        Run numbers, block by block; within a block the settings follow each other by chance.

    Notes
    -----
    Randomised complete blocks: Box, Hunter and Hunter, Statistics for Experimenters (2005),
    chapter 4; from memory.
    """
    rng = np.random.default_rng(seed)
    shuffled = [rng.permutation(numbers).tolist() for numbers in runs.values()]
    blocks = []
    for number in range(max(map(len, shuffled), default=0)):
        block = [each[number] for each in shuffled if number < len(each)]
        blocks.append(tuple(int(n) for n in rng.permutation(block)))
    return tuple(blocks)
