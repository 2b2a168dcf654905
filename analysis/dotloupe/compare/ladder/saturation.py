"""The smooth rise of detail with sent ppi, and where it levels off."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import scipy

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from dotloupe.arrays import FloatArray, Interval

KNEES = 200
BENDS = 20

SHAPE_ERROR = 0.005
"""Share by which a smooth ladder may differ from every curve fitted here."""

TREND_PARAMETERS = 3
"""Plateau, knee and bend."""


@dataclass(frozen=True)
class Shape:
    """A family of rises from 0 to 1 with a knee and a bend.

    Attributes
    ----------
    log_rise : callable
        (ppi / knee, bend) to the logarithm of the share of the plateau.
    crossing : callable
        (share, bend) to the ppi / knee at which the share is reached.
    bend, bend_spread : float
        Typical bend, and the standard deviation of its logarithm allowed for.
    """

    log_rise: Callable[[FloatArray, FloatArray], FloatArray]
    crossing: Callable[[float, FloatArray], FloatArray]
    bend: float
    bend_spread: float


SHAPES = (
    # file and printer in cascade; 2 where their blurs add in quadrature
    Shape(
        lambda x, m: -np.log1p(x**-m) / m,
        lambda share, m: (share**-m - 1) ** (-1 / m),
        bend=2.2,
        bend_spread=0.5,
    ),
    # the plateau approached exponentially
    Shape(
        lambda x, m: np.log(-np.expm1(-(x**m))) / m,
        lambda share, m: (-np.log1p(-(share**m))) ** (1 / m),
        bend=1.4,
        bend_spread=0.4,
    ),
    # logistic in the logarithm of the ppi
    Shape(
        lambda x, m: -np.log1p(x**-m),
        lambda share, m: (share / (1 - share)) ** (1 / m),
        bend=1.8,
        bend_spread=0.35,
    ),
)


@dataclass(frozen=True)
class Saturation:
    """Curves that rise and level off, each weighted by how well it follows the points.

    The level is free at every node of a grid of shapes, knees and bends, so that the fit is a sum
    with no start values and repeats exactly.

    Attributes
    ----------
    knee_ppi, bend : ndarray (m,)
        Nodes of the grid, the same for every shape.
    weight, log_plateau : ndarray (shapes, m)
        Weight of each curve, with sum 1, and natural logarithm of its plateau.
    level_error : float
        Standard error of the logarithm of the plateau at one node.
    degrees : float
        Degrees of freedom of the points' spread.
    """

    knee_ppi: FloatArray
    bend: FloatArray
    weight: FloatArray
    log_plateau: FloatArray
    level_error: float
    degrees: float

    def plateau(self) -> tuple[float, Interval]:
        """Detail at unlimited ppi and its 95 % interval."""
        return self._mixture(self.log_plateau)

    def at(self, ppi: float) -> tuple[float, Interval]:
        """Detail at `ppi` and its 95 % interval."""
        mean, error = self.predict(ppi)
        half = float(scipy.special.stdtrit(self.degrees, 0.975)) * error
        return float(np.exp(mean)), (float(np.exp(mean - half)), float(np.exp(mean + half)))

    def crossing_ppi(self, share: float) -> tuple[float, Interval]:
        """Ppi at which `share` of the plateau is reached, and its 95 % interval."""
        reached = [s.crossing(share, self.bend) * self.knee_ppi for s in SHAPES]
        low, middle, high = self._quantiles(np.stack(reached))
        return middle, (low, high)

    def gain(self, ppi: float, over: float) -> tuple[float, Interval]:
        """Detail at one ppi over that at another, and its 95 % interval."""
        rises = _log_rise(np.array([over, ppi]), self.knee_ppi, self.bend)
        low, middle, high = self._quantiles(np.exp(rises[:, 1, :] - rises[:, 0, :]))
        return middle, (low, high)

    def _quantiles(self, values: FloatArray) -> tuple[float, float, float]:
        """2.5 %, 50 % and 97.5 % of what the curves say, by their weights."""
        order = np.argsort(values, axis=None)
        cumulative = np.cumsum(self.weight.ravel()[order])
        at = np.searchsorted(cumulative / cumulative[-1], (0.025, 0.5, 0.975))
        low, middle, high = values.ravel()[order][at].tolist()
        return low, middle, high

    def predict(self, ppi: float) -> tuple[float, float]:
        """Mean of ln y at `ppi` over all curves, and its standard error."""
        logs = self.log_plateau + _log_rise(np.array([ppi]), self.knee_ppi, self.bend)[:, 0, :]
        mean = float(np.sum(self.weight * logs))
        variance = float(np.sum(self.weight * (logs - mean) ** 2)) + self.level_error**2
        return mean, float(np.sqrt(variance))

    def _mixture(self, logs: FloatArray) -> tuple[float, Interval]:
        kept = self.weight > 1e-9
        logs, weight = logs[kept], self.weight[kept] / self.weight[kept].sum()
        reach = 60 * self.level_error + 1e-9

        def quantile(share: float) -> float:
            def excess(x: float) -> float:
                below = scipy.special.stdtr(self.degrees, (x - logs) / max(self.level_error, 1e-12))
                return float(weight @ below) - share

            return float(
                scipy.optimize.brentq(excess, logs.min() - reach, logs.max() + reach, xtol=1e-7)
            )

        low, middle, high = (float(np.exp(quantile(q))) for q in (0.025, 0.5, 0.975))
        return middle, (low, high)


def fit_saturation(
    ppi: FloatArray,
    log_value: FloatArray,
    log_error: FloatArray,
    degrees: float,
    *,
    used: NDArray[np.bool_] | None = None,
) -> Saturation:
    """Fit every curve of the grid and weigh it by how well it follows the points.

    Parameters
    ----------
    ppi, log_value, log_error : ndarray (n,)
        Sent ppi, natural logarithm of the detail and its standard error.
    degrees : float
        Degrees of freedom of the standard errors; infinite where they come from the photographs'
        own intervals.
    used : bool ndarray (n,), optional
        The points to fit, all if not given.

    Notes
    -----
    The weight of a node is its likelihood with the level integrated out and the spread known to
    `degrees` degrees of freedom (Student's form), times a broad preference for the typical bend of
    its shape. Where even the best curve misses the points by more than their errors, the errors
    are widened by that ratio (Birge 1932).
    """
    used = np.ones(len(ppi), dtype=bool) if used is None else used
    table = _rise_table(tuple(ppi.tolist()))
    precision = 1 / (log_error[used] ** 2 + SHAPE_ERROR**2)
    excess = log_value[used, None] - table.log_rise[:, used, :]
    log_plateau = precision @ excess / precision.sum()
    misfit = precision @ (excess - log_plateau[:, None, :]) ** 2
    count = int(used.sum())
    spare = count - TREND_PARAMETERS
    widening = max(1.0, float(misfit.min()) / spare) if spare > 0 else 1.0
    log_weight = table.log_prior + _log_likelihood(misfit / widening, degrees, count)
    weight = np.exp(log_weight - log_weight.max())
    return Saturation(
        knee_ppi=table.knee_ppi,
        bend=table.bend,
        weight=weight / weight.sum(),
        log_plateau=log_plateau,
        level_error=float(np.sqrt(widening / precision.sum())),
        degrees=degrees,
    )


@dataclass(frozen=True)
class _RiseTable:
    """Logarithm of the share of the plateau, (shapes, ppi, nodes), and the nodes."""

    knee_ppi: FloatArray
    bend: FloatArray
    log_rise: FloatArray
    log_prior: FloatArray


@lru_cache(maxsize=4)
def _rise_table(ppi: tuple[float, ...]) -> _RiseTable:
    knees = np.geomspace(min(ppi) / 6, max(ppi) * 4, KNEES)
    bends = np.geomspace(0.8, 8, BENDS)
    knee_ppi, bend = (g.ravel() for g in np.meshgrid(knees, bends, indexing="ij"))
    log_prior = [-((np.log(bend / s.bend) / s.bend_spread) ** 2) / 2 for s in SHAPES]
    log_rise = _log_rise(np.array(ppi), knee_ppi, bend)
    return _RiseTable(knee_ppi, bend, log_rise, np.stack(log_prior))


def _log_rise(ppi: FloatArray, knee_ppi: FloatArray, bend: FloatArray) -> FloatArray:
    scaled = ppi[:, None] / knee_ppi
    return np.stack([s.log_rise(scaled, bend) for s in SHAPES])


def _log_likelihood(misfit: FloatArray, degrees: float, points: int) -> FloatArray:
    if np.isinf(degrees):
        return -misfit / 2
    likelihood: FloatArray = -(degrees + points - 1) / 2 * np.log1p(misfit / degrees)
    return likelihood
