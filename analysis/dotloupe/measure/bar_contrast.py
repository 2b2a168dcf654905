"""Contrast of a folded group of bars, with its interval by leaving blocks of rows out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray, Interval
from dotloupe.measure.bar_group import BarGroup, clear_of_grain

HARMONIC_CLEAR = 2.0
"""Standard errors from which a harmonic is taken for the bars' own."""


@dataclass(frozen=True)
class BarContrast:
    """What the harmonics of a group say.

    Attributes
    ----------
    contrast, interval : float, (float, float)
        (max - min)/(max + min) and its 95 % interval.
    modulation : float
        pi/4 of the contrast of the first harmonic alone.
    swing : float
        max - min, in reflectance.
    phase : float
        Radians by which the bars lie to the right of the comb's centre.
    clear : bool
        Whether the first harmonic stands clear of the grain.
    """

    contrast: float
    interval: Interval
    modulation: float
    swing: float
    phase: float
    clear: bool


def bar_contrast(group: BarGroup) -> BarContrast:
    """Read a group's contrast at the centres of its bars and of its spaces.

    Where the first harmonic drowns in the grain and the place of the bars is known, it is read
    at that place, so that grain alone gives nothing on average.
    """
    from scipy.stats import t as student

    blocks = group.harmonics
    count = len(blocks)
    mean = blocks.mean(axis=0)
    clear = clear_of_grain(blocks)
    placed = group.bars is not None and not clear
    weights = _weights(blocks, placed=placed)
    without = (count * mean - blocks) / (count - 1)
    contrast, swing = _contrast(mean[None], group.paper, weights, placed=placed)
    left_out, _ = _contrast(without, group.paper, weights, placed=placed)
    error = np.sqrt((count - 1) / count * np.sum((left_out - left_out.mean()) ** 2))
    half = float(student.ppf(0.975, count - 1) * error)
    first = abs(mean[1]) if not placed else mean[1].real
    modulation = np.pi / 4 * first / (group.paper - mean[0].real)
    value = float(contrast[0])
    return BarContrast(
        value,
        (value - half, value + half),
        float(modulation),
        float(swing[0]),
        float(-np.angle(mean[1])),
        clear,
    )


def _aligned(harmonics: FloatArray, *, placed: bool) -> FloatArray:
    """Harmonics about the centre of a bar, of the bar found or of the bar drawn."""
    order = np.arange(harmonics.shape[1])
    turn = 0.0 if placed else np.angle(harmonics[:, 1:2])
    return np.asarray((harmonics * np.exp(-1j * turn * order)).real)


def _contrast(
    harmonics: FloatArray, paper: float, weights: FloatArray, *, placed: bool
) -> tuple[FloatArray, FloatArray]:
    """Contrast and swing for each row of harmonics.

    Odd harmonics have opposite signs at bar and space, even ones the same.
    """
    parts = _aligned(harmonics, placed=placed) * weights
    difference = 2 * parts[:, 1::2].sum(axis=1)
    total = 2 * (paper - parts[:, 0]) - 2 * parts[:, 2::2].sum(axis=1)
    return difference / total, difference


def _weights(blocks: FloatArray, *, placed: bool) -> FloatArray:
    """Weight of each harmonic: up to the last odd one that stands clear of the grain.

    The series of a sharp square wave alternates; where the pixels cut it off, half of its last
    term comes closest to its sum.
    """
    turn = 0.0 if placed else np.angle(blocks.mean(axis=0)[1])
    order = np.arange(blocks.shape[1])
    parts = (blocks * np.exp(-1j * turn * order)).real
    error = parts.std(axis=0, ddof=1) / np.sqrt(len(parts))
    clear = np.abs(parts.mean(axis=0)) > HARMONIC_CLEAR * error + 1e-9
    weights = np.zeros(blocks.shape[1])
    weights[:2] = 1.0
    odd = order[3::2]
    drowned = odd[~clear[3::2]]
    last = int(drowned[0]) - 2 if len(drowned) else int(order[1::2][-1])
    used = (order >= 2) & (order <= last + 1) & ((order % 2 == 1) & (order <= last) | clear)
    weights[used] = 1.0
    cut_off = last >= 3 and last + 2 > blocks.shape[1] - 1
    if cut_off:
        weights[last] = 0.5
    return weights
