"""When a grating stands out of the grain, by the theory of signal detection.

A cell's amplitude in phase with what was sent is normal with the grain's standard deviation s,
about zero without a grating and about its amplitude a with one. It stands out where it exceeds
z(1 - p) s, z being the normal quantile and p the rate of false finds; a grating is then missed at
the rate of Phi(z(1 - p) - a / s) (Green and Swets, *Signal Detection Theory and Psychophysics*,
1966, the observer that knows the signal; from memory). At the border, a / s = z(1 - p), half of the
gratings are found. Where s rests on few degrees of freedom, Student's quantile replaces z.
"""

from __future__ import annotations

import math

from dotloupe.measure.uncertainty import student_quantile

FALSE_RATE = 0.01
"""One place in a hundred of plain grain counts as a grating."""


def border_index(false_rate: float = FALSE_RATE) -> float:
    """Amplitude over the grain's standard deviation from which half of the gratings are found."""
    return float(student_quantile(math.inf, false_rate))


def stands_out(
    amplitude: float, standard_error: float, degrees: float, *, false_rate: float = FALSE_RATE
) -> bool:
    """Whether an amplitude is more than grain would show at the stated rate of false finds.

    Parameters
    ----------
    amplitude : float
        In phase with what was sent.
    standard_error : float
        What grain does to it.
    degrees : float
        Degrees of freedom of that.
    false_rate : float
    """
    return bool(amplitude > student_quantile(degrees, false_rate) * standard_error)


def missed_rate(index: float, *, false_rate: float = FALSE_RATE) -> float:
    """Share of gratings missed whose amplitude is `index` times the grain's deviation."""
    from scipy.special import ndtr

    return float(ndtr(border_index(false_rate) - index))
