"""The printer's response to the pixels of a file, from the edges of the patch."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from dotloupe.evaluate.elements import AXES
from dotloupe.measurement import PrintResponse
from dotloupe.number import Measurand, Quantity
from dotloupe.units import MM_PER_INCH, NORMAL_95

if TYPE_CHECKING:
    from collections.abc import Mapping

    from dotloupe.measure.edge import CombinedEdges

STEP = 0.25
"""Cycles/mm between the frequencies that are kept."""


def print_responses(
    edges: Mapping[str, CombinedEdges], sent_ppi: float | None
) -> dict[str, PrintResponse]:
    """Response along each axis by the mid-tone edges; none where the ppi sent is unknown.

    Where edges disagree, as those of a coarse halftone do, their differences are in the error.
    The pixels of the patch's file are means over their areas, which took sinc(frequency / ppi);
    that share belongs to the file and is taken out. The curve ends at the file's Nyquist
    frequency, or where the camera could not be taken out any more.

    Parameters
    ----------
    edges : mapping of str to CombinedEdges
        By the names of their numbers.
    sent_ppi : float or None
    """
    if sent_ppi is None:
        return {}
    found = {}
    for axis in AXES:
        together = edges.get(Measurand(Quantity.DETAIL, axis).name)
        if together is None:
            continue
        nyquist = sent_ppi / MM_PER_INCH / 2
        f = np.arange(0.0, min(nyquist, float(together.frequency[-1])) + 1e-9, STEP)
        mtf, low, high = (
            np.interp(f, together.frequency, curve)
            for curve in (together.mtf, together.mtf_low, together.mtf_high)
        )
        drawn = np.sinc(f * MM_PER_INCH / sent_ppi)
        error = (high - low) / (2 * NORMAL_95) / drawn
        found[str(axis)] = PrintResponse(f, mtf / drawn, error)
    return found
