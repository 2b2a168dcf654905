"""Contrast of a folded group of bars, with its interval by leaving blocks of rows out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.measure.bars.group import BarGroup, clear_of_grain
from dotloupe.measure.jackknife import jackknife, left_out
from dotloupe.measure.uncertainty import Uncertainty

HARMONIC_CLEAR = 3.0
"""Standard errors from which a harmonic is taken for the bars' own, whatever may be expected."""
LAST_ORDER = 60
"""Harmonics after which a sharp series is cut off: its sum is known to 2 % then."""


@dataclass(frozen=True)
class BarContrast:
    """What the harmonics of a group say.

    Attributes
    ----------
    contrast : float
        (max - min)/(max + min).
    uncertainty : Uncertainty
        Of the contrast.
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
    uncertainty: Uncertainty
    modulation: float
    swing: float
    phase: float
    clear: bool


def bar_contrast(group: BarGroup) -> BarContrast:
    """Read a group's contrast at the centres of its bars and of its spaces.

    Where the first harmonic drowns in the grain and the place of the bars is known, it is read
    at that place, so that grain alone gives nothing on average.
    """
    blocks = group.harmonics
    mean = blocks.mean(axis=0)
    clear = clear_of_grain(blocks)
    placed = group.bars is not None and not clear
    weights = _weights(blocks, group, placed=placed)
    paper = group.paper.mean()
    contrast, swing = _contrast(mean[None], paper[None], weights, placed=placed)
    without, _ = _contrast(left_out(blocks), left_out(group.paper), weights, placed=placed)
    first = abs(mean[1]) if not placed else mean[1].real
    modulation = np.pi / 4 * first / (paper - mean[0].real)
    value = float(contrast[0])
    return BarContrast(
        value,
        jackknife(without),
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
    harmonics: FloatArray, paper: FloatArray, weights: FloatArray, *, placed: bool
) -> tuple[FloatArray, FloatArray]:
    """Contrast and swing for each row of harmonics.

    Odd harmonics have opposite signs at bar and space, even ones the same.
    """
    parts = _aligned(harmonics, placed=placed) * weights
    difference = 2 * parts[:, 1::2].sum(axis=1)
    total = 2 * (paper - parts[:, 0]) - 2 * parts[:, 2::2].sum(axis=1)
    return difference / total, difference


def _weights(blocks: FloatArray, group: BarGroup, *, placed: bool) -> FloatArray:
    """Weight of each harmonic: the odd ones up to the last that counts, and clear even ones.

    An odd harmonic k counts where it stands clear of the grain, or could hold more than its
    grain. For the latter its modulation is guessed as M^2k, M being that of the first harmonic:
    less than an exponential MTF keeps (M^k), more than a Gaussian one does (M^k^2); to take or
    leave it by what was found alone would add to the error unseen.

    Where the pixels cut the series off, the first harmonic carries what the rest would add: the
    rest of a Gaussian's, M^k^2, which the square pixel of a sharp picture follows closely too.
    """
    turn = 0.0 if placed else np.angle(blocks.mean(axis=0)[1])
    order = np.arange(blocks.shape[1])
    parts = (blocks * np.exp(-1j * turn * order)).real
    found = np.abs(parts.mean(axis=0))
    error = parts.std(axis=0, ddof=1) / np.sqrt(len(parts)) + 1e-9
    clear = found > HARMONIC_CLEAR * error
    whole = found[0] if group.bars is None else max(parts[:, 0].mean(), found[1] * np.pi / 4)
    kept = min(np.pi / 4 * found[1] / whole, 1.0)
    expected = 4 / np.pi * whole * kept ** (2 * order) / np.maximum(order, 1)
    counts = clear | (expected > error)
    odd = order[1::2]
    counts[1] = True
    stop = int(np.argmin(counts[odd])) if not counts[odd].all() else len(odd)
    weights = np.where(clear & (order % 2 == 0) & (order < 2 * stop), 1.0, 0.0)
    weights[0] = 1.0
    weights[odd[:stop]] = 1.0
    if stop == len(odd):
        weights[1] += _beyond(kept, int(odd[-1]))
    return weights


def _beyond(kept: float, last: int) -> float:
    """What odd harmonics after the last would add to the contrast, as a share of the first."""
    order = np.arange(last + 2, LAST_ORDER, 2)
    sign = np.where(order % 4 == 1, 1.0, -1.0)
    return float(np.sum(sign * kept ** (order**2 - 1.0) / order))
