"""How far a number may be off: its standard error and the degrees of freedom that it rests on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from dotloupe.units import NORMAL_95

if TYPE_CHECKING:
    from collections.abc import Iterable

    from dotloupe.arrays import FloatArray, Interval


@dataclass(frozen=True)
class Uncertainty:
    """What a 95 % interval of a number was made of.

    Attributes
    ----------
    standard_error : float
        In the unit of the number.
    degrees : float
        Degrees of freedom of Student's t; infinite where the error counts as normal.
    """

    standard_error: float
    degrees: float = math.inf

    @property
    def half_width(self) -> float:
        """Half of the 95 % interval."""
        return float(student_quantile(self.degrees)) * self.standard_error

    def scaled(self, factor: float) -> Uncertainty:
        """The uncertainty of `factor` times the number."""
        return Uncertainty(self.standard_error * factor, self.degrees)


def added(parts: Iterable[Uncertainty]) -> Uncertainty:
    """Uncertainty of a sum of independent parts: variances add, degrees by their shares.

    Notes
    -----
    Degrees of freedom after Welch and Satterthwaite; from memory.
    """
    squares, shares = 0.0, 0.0
    for part in parts:
        square = part.standard_error**2
        squares += square
        shares += square**2 / part.degrees
    return Uncertainty(math.sqrt(squares), squares**2 / shares if shares else math.inf)


def student_quantile(degrees: FloatArray | float, tail: float = 0.025) -> Any:
    """Quantile of Student's t that leaves `tail` above it, of the shape of `degrees`."""
    from scipy.special import stdtrit

    return stdtrit(degrees, 1.0 - tail)


def normal_uncertainty(interval: Interval) -> Uncertainty | None:
    """The normal error whose 95 % interval is as long as this one; None where it is open."""
    length = interval[1] - interval[0]
    return Uncertainty(length / (2 * NORMAL_95)) if math.isfinite(length) else None
