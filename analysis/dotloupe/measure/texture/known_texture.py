"""How much of a known texture comes through: |H| and coherence of the print against the file.

The transfer is H1 = Sxy/Sxx, its modulus taken, and the coherence |Sxy|^2/(Sxx Syy), after
Bendat and Piersol, "Random Data" (from memory). |H| keeps its value under a small error of
registration, where Re(H) does not (Sumner et al. 2017).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dotloupe.arrays import ComplexArray, FloatArray, Interval
from dotloupe.cautions import Caution
from dotloupe.errors import RegionError
from dotloupe.measure.jackknife import jackknife, left_out
from dotloupe.measure.level_crossing import falls_below
from dotloupe.measure.pixel_region import checked_region
from dotloupe.measure.texture.cross_spectrum import (
    RingSpectra,
    aligned,
    block_spectra,
    ring_spectra,
)
from dotloupe.measure.uncertainty import Uncertainty

BLOCKS_A_SIDE = 4
LEAST_BLOCK_PX = 32
ACROSS_MOST = 2.5
"""Cycles/mm across an axis up to which a direction still counts for it."""
FARTHEST_PX = 2.5
"""A block farther out of register than this was not registered."""
UNEVEN_PX = 0.5
"""Departure of blocks from their common shift from which a reader has to know of it."""
SAME_PICTURE = 0.3
"""Coherence in the lowest rings below which the two do not show one texture."""


@dataclass(frozen=True)
class RegistrationVaries(Caution):
    """Registration varies by so many `pixels`, rms, over the texture."""

    pixels: float


@dataclass(frozen=True)
class DirectionTransfer:
    """Transfer along one axis.

    Attributes
    ----------
    frequency : ndarray of shape (n,)
        Cycles/mm.
    transfer, transfer_low, transfer_high : ndarray of shape (n,)
        |H|, captured over sent modulation of reflectance, with its 95 % interval.
    coherence : ndarray of shape (n,)
        Share of the captured power that follows the sent picture, less what chance alone gives.
    random_error : ndarray of shape (n,)
        Relative standard error of |H| by Bendat and Piersol's formula, as a check on the interval.
    kept : float or None
        Cycles/mm up to which the coherence holds the level; None where it never does.
    kept_interval : (float, float)
        Its 95 % interval; infinity where the coherence holds to the end.
    kept_uncertainty : Uncertainty or None
        None where the interval is open or nothing is kept.
    unrelated : float
        Rms of the captured reflectance that does not follow the sent picture, over these
        frequencies and directions: grain, and structure that was not in the picture.
    unrelated_uncertainty : Uncertainty
    """

    frequency: FloatArray
    transfer: FloatArray
    transfer_low: FloatArray
    transfer_high: FloatArray
    coherence: FloatArray
    random_error: FloatArray
    kept: float | None
    kept_interval: Interval
    kept_uncertainty: Uncertainty | None
    unrelated: float
    unrelated_uncertainty: Uncertainty


@dataclass(frozen=True)
class Transfer:
    """Transfer of a known texture in both directions.

    Attributes
    ----------
    x, y : DirectionTransfer
        Along x and along y.
    shift_px : (float, float)
        Median error of registration that was found, and taken out, along x and y.
    cautions : tuple of Caution
    """

    x: DirectionTransfer
    y: DirectionTransfer
    shift_px: tuple[float, float]
    cautions: tuple[Caution, ...]


def transfer(
    sent: FloatArray,
    captured: FloatArray,
    pixels_per_mm: float,
    *,
    coherence_level: float = 0.5,
    block_mm: float | None = None,
    turned_deg: float = 0.0,
    highest: float | None = None,
) -> Transfer:
    """Compare a photographed texture with the picture that was sent to the printer.

    Parameters
    ----------
    sent, captured : ndarray of shape (h, w)
        Linear reflectance of both on one grid, registered to within two pixels.
    pixels_per_mm : float
        Sampling of the grid.
    coherence_level : float
        Level for "detail kept": at 0.5 half of the captured power follows the file.
    block_mm : float, optional
        Side of the blocks; a quarter of the shorter side where not given.
    turned_deg : float
        Direction of the print's x in the arrays, from their x towards their y.
    highest : float, optional
        Cycles/mm up to which the sent picture holds anything; all that the grid holds otherwise.

    Returns
    -------
    Transfer

    Raises
    ------
    RegionError
        Arrays of different shape, too small, without texture, of different pictures, or not
        registered.

    Notes
    -----
    Each block is brought into register by the phase of its own cross-spectrum. Frequencies
    within 15 degrees of an axis and 2.5 cycles/mm across it count for it. Intervals leave out a
    sixteenth of the area at a time.
    """
    x = checked_region(sent, pixels_per_mm, what="sent texture")
    y = checked_region(captured, pixels_per_mm, what="captured texture")
    side = _block_side(x, y, pixels_per_mm, block_mm)
    if not 0 < coherence_level < 1:
        raise RegionError(f"the coherence level lies between 0 and 1: {coherence_level}.")
    spectra, shift = aligned(block_spectra(x, y, side, BLOCKS_A_SIDE))
    across = max(ACROSS_MOST / pixels_per_mm, 1.0 / side)
    limit = 0.5 if highest is None else min(highest / pixels_per_mm, 0.5)
    along = {
        axis: ring_spectra(spectra, axis, across, turned_deg=turned_deg, highest=limit)
        for axis in ("x", "y")
    }
    # power summed over half the plane and all blocks, to a variance
    of_variance = 2 / (len(spectra.captured) * float(side) ** 4)
    middle, spread = _middle_and_spread(shift, spectra.sent)
    _check_same(along, middle, spread)
    return Transfer(
        x=_direction(along["x"], along["y"], pixels_per_mm, coherence_level, of_variance),
        y=_direction(along["y"], along["x"], pixels_per_mm, coherence_level, of_variance),
        shift_px=(float(middle[0]), float(middle[1])),
        cautions=_cautions(spread),
    )


def _middle_and_spread(shift: FloatArray, sent: ComplexArray) -> tuple[FloatArray, float]:
    """Median shift of the blocks along x and y, and its rms departures, by what a block holds."""
    weight = np.sum(np.abs(sent) ** 2, axis=(1, 2))
    weight = weight / weight.sum()
    order = np.argsort(shift, axis=0)
    half = np.argmax(np.cumsum(weight[order], axis=0) >= 0.5, axis=0)
    middle = np.take_along_axis(shift, np.take_along_axis(order, half[None], 0), 0)[0]
    return middle, float(np.sqrt((weight @ (shift - middle) ** 2).max()))


def _block_side(
    sent: FloatArray, captured: FloatArray, pixels_per_mm: float, block_mm: float | None
) -> int:
    if sent.shape != captured.shape:
        raise RegionError(
            f"sent {sent.shape} and captured {captured.shape} differ in shape; bring "
            "both onto one grid."
        )
    if np.ptp(sent) == 0 or np.ptp(captured) == 0:
        raise RegionError("the region is even, it holds no texture.")
    shorter = min(sent.shape)
    side = shorter // BLOCKS_A_SIDE if block_mm is None else round(block_mm * pixels_per_mm)
    side -= side % 2
    if not LEAST_BLOCK_PX <= side <= shorter // 2:
        raise RegionError(
            f"blocks of {side} pixels in a region of {shorter}; they need at least "
            f"{LEAST_BLOCK_PX} pixels and at most half the region. Take a larger region."
        )
    return side


def _check_same(along: dict[str, RingSpectra], middle: FloatArray, spread: float) -> None:
    low = [
        _coherence(r.sent[:, :4].sum(), r.captured[:, :4].sum(), r.cross[:, :4].sum())
        for r in along.values()
    ]
    if min(low) < SAME_PICTURE:
        raise RegionError(
            f"coherence is {min(low):.2f} where the texture is strongest, so the two do "
            "not show one picture; check which file was printed, and the registration."
        )
    farthest = float(np.abs(middle).max())
    if farthest > FARTHEST_PX:
        raise RegionError(f"the two lie {farthest:.1f} pixels apart; register them first.")
    if spread > FARTHEST_PX:
        raise RegionError(
            f"parts of it lie {spread:.1f} pixels out of register with others, or do not "
            "show what was sent; photograph the sheet flat, and a part that shows nothing else."
        )


def _cautions(spread: float) -> tuple[Caution, ...]:
    return (RegistrationVaries(spread),) if spread > UNEVEN_PX else ()


def _coherence(sent: FloatArray, captured: FloatArray, cross: FloatArray) -> FloatArray:
    return np.asarray(np.abs(cross) ** 2 / np.maximum(sent * captured, 1e-300))


def _unbiased(coherence: FloatArray, averages: FloatArray) -> FloatArray:
    """Coherence less its bias: about (1 - g2)^2/n for n averages (Bendat and Piersol)."""
    return np.asarray(np.clip(coherence - (1 - coherence) ** 2 / averages, 0, 1))


def _log_gain(
    sent: FloatArray, cross: FloatArray, crosswise: RingSpectra, off_axis: FloatArray
) -> FloatArray:
    """Logarithm of |H| on the axis.

    A ring holds directions to both sides of its axis; with ln |H| going from one axis to the
    other as the squared sine of the angle, as it does for an elliptical Gaussian, what they take
    from the other axis is known.
    """
    own = np.log(np.abs(cross) / sent)
    other = np.log(np.abs(crosswise.cross.sum(axis=0)) / crosswise.sent.sum(axis=0))
    return np.asarray(own + off_axis * (own - other) / (1 - 2 * off_axis))


def _direction(
    rings: RingSpectra,
    crosswise: RingSpectra,
    pixels_per_mm: float,
    level: float,
    of_variance: float,
) -> DirectionTransfer:
    sent, captured, cross = (a.sum(axis=0) for a in (rings.sent, rings.captured, rings.cross))
    frequency = rings.frequency * pixels_per_mm
    gain = np.exp(_log_gain(sent, cross, crosswise, rings.off_axis))
    coherence = _unbiased(_coherence(sent, captured, cross), rings.averages)
    without = [left_out(a) for a in (rings.sent, rings.captured, rings.cross)]
    log_gain = _log_gain(without[0], without[2], crosswise, rings.off_axis)
    half = np.array([jackknife(ring).half_width for ring in log_gain.T])
    others = _unbiased(_coherence(*without), rings.averages)
    kept, interval, uncertainty = _kept(frequency, coherence, others, level)
    unrelated = np.sqrt(of_variance * (captured * (1 - coherence)).sum())
    groups = len(rings.captured)
    unrelated_without = np.sqrt(
        of_variance * groups / (groups - 1) * (without[1] * (1 - others)).sum(axis=1)
    )
    safe = np.maximum(coherence, 1e-6)
    return DirectionTransfer(
        frequency=frequency,
        transfer=gain,
        transfer_low=gain * np.exp(-half),
        transfer_high=gain * np.exp(half),
        coherence=coherence,
        random_error=np.sqrt((1 - coherence) / (2 * rings.averages * safe)),
        kept=kept,
        kept_interval=interval,
        kept_uncertainty=uncertainty,
        unrelated=float(unrelated),
        unrelated_uncertainty=jackknife(unrelated_without),
    )


def _kept(
    frequency: FloatArray, coherence: FloatArray, others: FloatArray, level: float
) -> tuple[float | None, Interval, Uncertainty | None]:
    """Frequency up to which the coherence holds the level, with its interval."""
    value = _crossing(frequency, coherence, level)
    reached = np.array([_crossing(frequency, other, level) for other in others])
    if value == 0:
        return None, (0.0, float(max(frequency[0], reached.max()))), None
    if value >= frequency[-1]:
        return float(frequency[-1]), (float(reached.min()), float("inf")), None
    uncertainty = jackknife(reached)
    half = uncertainty.half_width
    return value, (max(value - half, 0.0), value + half), uncertainty


def _crossing(frequency: FloatArray, coherence: FloatArray, level: float) -> float:
    """Where the coherence first falls below a level and stays so for two rings; 0 at once."""
    if (coherence[:2] < level).all():
        return 0.0
    crossing = float(falls_below(frequency, coherence, level, samples=2))
    return float(frequency[-1]) if np.isnan(crossing) else crossing
