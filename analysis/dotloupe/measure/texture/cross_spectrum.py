"""Cross-spectra of two registered pictures, in blocks, gathered into rings by direction."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dotloupe.arrays import ComplexArray, FloatArray

SECTOR = 0.268
"""Directions that count as along an axis: within 15 degrees (tangent)."""
RING_WIDTH = 0.06
"""Width of a ring as a share of its radius, at least one bin."""
FIRST_RING = 2
"""Lowest ring: below it a Hann window mixes in the mean."""
ALIGNED_TO = 0.25
"""Cycles per pixel up to which the phase is followed to align a block."""
ALIGNING_STEPS = 8
HANN_SPREAD = 1.5
"""Equivalent noise bandwidth of a Hann window in bins, each way.

Harris, Proc. IEEE 66 (1978) 51; from memory.
"""
HANN_VARIANCE = 1 / 3
"""Variance of the spread of power by a Hann window, in bins squared, each way (derived)."""
OVERLAP_KEPT = 0.947
"""Independent share of Hann blocks half overlapped, each way.

Welch, IEEE Trans. Audio Electroacoust. 15 (1967) 70; from memory.
"""


@dataclass(frozen=True)
class RingSpectra:
    """Power and cross power along one axis, summed over blocks in groups.

    Attributes
    ----------
    frequency : ndarray of shape (rings,)
        Cycles per pixel, where the sent power of the ring has its centre.
    sent, captured : ndarray of shape (groups, rings)
        Power.
    cross : ndarray of complex, shape (groups, rings)
        Conjugate of the sent picture's transform times the captured one's.
    averages : ndarray of shape (rings,)
        Number of independent values in each ring, over all groups.
    off_axis : ndarray of shape (rings,)
        Mean squared sine of the angle to the axis.
    """

    frequency: FloatArray
    sent: FloatArray
    captured: FloatArray
    cross: FloatArray
    averages: FloatArray
    off_axis: FloatArray


@dataclass(frozen=True)
class BlockSpectra:
    """Transforms of all blocks: shape (blocks, n, n // 2 + 1), and the group of each block."""

    sent: ComplexArray
    captured: ComplexArray
    group: NDArray[np.intp]
    side: int


def block_spectra(
    sent: FloatArray, captured: FloatArray, side: int, groups_a_side: int
) -> BlockSpectra:
    """Transform Hann-windowed blocks, half overlapped, less their mean."""
    from scipy.fft import rfft2

    height, width = sent.shape
    starts = [_starts(length, side) for length in (height, width)]
    hann = np.hanning(side + 2)[1:-1]
    window = np.outer(hann, hann)
    window /= np.sqrt(np.mean(window**2))
    transforms = []
    for picture in (sent, captured):
        single = picture.astype(np.float32)
        views = np.lib.stride_tricks.sliding_window_view(single, (side, side))
        blocks = views[np.ix_(*starts)].reshape(-1, side, side)
        mean = np.einsum("byx,yx->b", blocks, window) / window.sum()
        blocks -= mean[:, None, None]
        blocks *= window.astype(np.float32)
        transforms.append(rfft2(blocks, overwrite_x=True))
    rows, columns = (
        (start + side // 2) * groups_a_side // length
        for start, length in zip(starts, (height, width), strict=True)
    )
    group = (rows[:, None] * groups_a_side + columns).ravel()
    return BlockSpectra(transforms[0], transforms[1], group, side)


def _starts(length: int, side: int) -> NDArray[np.intp]:
    """First pixels of blocks half overlapped, spread evenly over a length."""
    count = max(int(np.floor((length - side) / (side / 2))) + 1, 1)
    return np.rint(np.linspace(0, length - side, count)).astype(np.intp)


def aligned(spectra: BlockSpectra) -> tuple[BlockSpectra, FloatArray]:
    """Take out what each block is out of register, which |H| and coherence should not feel.

    The shift is where the correlation of the two, up to `ALIGNED_TO`, is highest; frequencies
    that a blur has turned round weigh in, as they must, against.

    Returns
    -------
    spectra : BlockSpectra
    shift : ndarray of shape (blocks, 2)
        Pixels along x and y by which the captured block lay off.
    """
    fy, fx = _frequencies(spectra.side)
    rows, columns = np.abs(fy[:, 0]) < ALIGNED_TO, slice(int((fx < ALIGNED_TO).sum()))
    v, u = 2 * np.pi * fy[rows], 2 * np.pi * fx[:, columns]
    near = np.hypot(u, v) < 2 * np.pi * ALIGNED_TO
    cross = np.conj(spectra.sent[:, rows, columns]) * spectra.captured[:, rows, columns]
    cross = np.where(near, cross, 0).astype(np.complex128)
    plane = np.stack(np.broadcast_arrays(u, v)).reshape(2, -1)
    weight = np.abs(cross).reshape(len(cross), -1)
    bend = (weight @ (plane[:, None] * plane).reshape(4, -1).T).reshape(-1, 2, 2)
    shift = np.zeros((len(cross), 2))
    for _ in range(ALIGNING_STEPS):
        along, down = np.exp(1j * shift[:, :1] * u[0]), np.exp(1j * shift[:, 1:] * v[:, 0])
        across = cross @ np.stack([along * u[0], along], axis=-1)
        across[..., 1] *= v[:, 0]
        slope = np.matmul(down[:, None], across).imag.swapaxes(1, 2)
        shift -= np.linalg.solve(bend, slope)[..., 0]
    turn_x = np.exp(2j * np.pi * shift[:, :1, None] * fx).astype(np.complex64)
    turn_y = np.exp(2j * np.pi * shift[:, 1:, None] * fy).astype(np.complex64)
    captured = spectra.captured * turn_x
    captured *= turn_y
    return BlockSpectra(spectra.sent, captured, spectra.group, spectra.side), shift


def ring_spectra(
    spectra: BlockSpectra,
    axis: str,
    across_most: float,
    *,
    turned_deg: float = 0.0,
    highest: float = 0.5,
) -> RingSpectra:
    """Gather the cross-spectra near one axis into rings.

    Parameters
    ----------
    spectra : BlockSpectra
    axis : {"x", "y"}
    across_most : float
        Largest frequency across the axis, in cycles per pixel, so that a blur along the other
        axis has hardly begun.
    turned_deg : float
        Direction of the axis x in the blocks, from their x towards their y.
    highest : float
        Highest frequency, in cycles per pixel.
    """
    side = spectra.side
    fy, fx = _frequencies(side)
    c, s = np.cos(np.deg2rad(turned_deg)), np.sin(np.deg2rad(turned_deg))
    own, other = np.abs(c * fx + s * fy), np.abs(c * fy - s * fx)
    along, across = (own, other) if axis == "x" else (other, own)
    radius = np.hypot(fx, fy)
    borders = _ring_borders(side, highest)
    ring = np.searchsorted(borders, radius * side, side="right") - 1
    rings = len(borders) - 1
    # Half of the column of frequency 0 along x repeats the other half.
    unique = (fx > 0) | (fy > 0)
    near = (across <= SECTOR * along + 1e-9) & (across <= across_most + 1e-9)
    held = unique & near & (ring >= 0) & (ring < rings)
    label = ring[held]
    sent, captured = spectra.sent[:, held], spectra.captured[:, held]
    cross = np.conj(sent) * captured
    groups = int(spectra.group.max()) + 1
    cell = (spectra.group[:, None] * rings + label).ravel()

    def gather(values: FloatArray) -> FloatArray:
        total = np.bincount(cell, weights=values.ravel(), minlength=groups * rings)
        return np.asarray(total, dtype=float).reshape(groups, rings)

    bins = np.bincount(label, minlength=rings)
    power = np.mean(np.abs(sent) ** 2, axis=0, dtype=float)
    weight = np.bincount(label, weights=power, minlength=rings)
    centre = np.bincount(label, weights=power * radius[held], minlength=rings) / weight
    sine = (across / np.maximum(radius, 1e-12))[held] ** 2
    off_axis = np.bincount(label, weights=power * sine, minlength=rings) / weight
    return RingSpectra(
        _spread_centre(centre, weight / bins, side),
        gather(np.abs(sent) ** 2),
        gather(np.abs(captured) ** 2),
        gather(cross.real) + 1j * gather(cross.imag),
        np.maximum(len(sent) * OVERLAP_KEPT**2 * bins / HANN_SPREAD**2, 1.0),
        off_axis,
    )


def _ring_borders(side: int, highest: float) -> FloatArray:
    """Radii between rings, in bins."""
    borders = [FIRST_RING - 0.5]
    while borders[-1] < min(side // 2, highest * side) - 1:
        borders.append(borders[-1] + max(1.0, RING_WIDTH * borders[-1]))
    return np.array(borders[:-1])


def _spread_centre(centre: FloatArray, power: FloatArray, side: int) -> FloatArray:
    """Centre of the power that a window gathers into each ring.

    A Hann window takes in neighbouring frequencies; where power falls steeply, more from below
    than from above: centre + variance (d ln power / d f + 1 / (2 f)).
    """
    variance = HANN_VARIANCE / side**2
    slope = np.gradient(np.log(power), centre)
    return np.asarray(centre + variance * (slope + 0.5 / centre))


def _frequencies(side: int) -> tuple[FloatArray, FloatArray]:
    return np.fft.fftfreq(side)[:, None], np.fft.rfftfreq(side)[None, :]
