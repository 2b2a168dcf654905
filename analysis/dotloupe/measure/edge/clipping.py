"""Is one side of an edge cut off by the exposure."""

from __future__ import annotations

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.measure.edge.joint_fit import EdgeFit

PILED_UP = 0.02
"""Share of a plateau at its outermost value that noise alone does not give."""
CLEAN = 1e-3
"""Noise under this share of the step spreads a plateau too little to tell by its values."""
KINK = 0.2
"""Slope at which a clean edge may not end in a constant, as a share of the steepest."""


def clipped(distance: FloatArray, value: FloatArray, fit: EdgeFit) -> bool:
    """Whether one side of the edge is cut off at one value.

    Where noise spreads a plateau, its outermost value piles up. Where the cut took all of it,
    the values run into a constant with a kink that the other side does not have.

    Parameters
    ----------
    distance, value : ndarray, shape (samples,)
        Distance in pixels and value of the pixels around the edge.
    fit : EdgeFit
    """
    rising = fit.spread.step > 0
    kinks = [0.0, 0.0]
    for i, light in enumerate((True, False)):
        outward = distance if light == rising else -distance
        depth = (value.max() - value if light else value - value.min()) / abs(fit.spread.step)
        at_limit = depth < 1e-9
        outer = outward > 2.5 * fit.width.sigma
        if not outer.any() or at_limit[outer].mean() < PILED_UP or at_limit.all():
            continue
        free = outer & ~at_limit
        noise = (value[free] - fit.spread.value(distance[free])).std() if free.any() else 0.0
        if noise > CLEAN * abs(fit.spread.step):
            counts = np.unique(depth[outer], return_counts=True)[1]
            if counts.size > 2 and counts[0] > 3 * counts[1:].max():
                return True
        else:
            reach = float(outward[~at_limit].max())
            near = np.abs(outward - reach + 0.5) < 0.5
            steepest = 1.0 / (np.sqrt(2 * np.pi) * fit.width.finest)
            kinks[i] = float(depth[near].mean()) / 0.5 / steepest
    return max(kinks) > KINK and min(kinks) < 0.5 * max(kinks)
