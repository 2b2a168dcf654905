"""Motion: one direction in which everything is blurred, wherever it stands on the patch.

Printers work along x and y, and may blur one of them more; they treat both diagonals alike. So
motion is blamed where the diagonals differ, and cannot be told where only x and y do.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from dotloupe.arrays import FloatArray
from dotloupe.fitness.finding import Evidence, Fault, FaultLimits, Finding, Symptom
from dotloupe.fitness.focus import BEYOND, kinds_of, most_lost
from dotloupe.fitness.steepest_edges import SteepestEdges

DIAGONAL_LOSS = 4.0
"""Loss of MTF50 in % by which the diagonals differ at least where motion is blamed."""
SURE = 4.0
"""Standard errors that they differ by at least."""
MOTION = FaultLimits(
    Symptom.TRAVEL,
    5.0,
    35.0,
    "% of MTF50 along it",
    "edges across the motion lose what the others do not: half of what settings differ by; a "
    "third leaves directions incomparable",
)


class Direction(StrEnum):
    """Directions in the frame, by turns of 45 degrees from its rows."""

    ACROSS = "across the frame"
    DOWN_RIGHT = "down to the right"
    UPRIGHT = "up and down the frame"
    UP_RIGHT = "up to the right"


@dataclass(frozen=True)
class Moved(Evidence):
    """In which direction the picture is blurred, and over how many um."""

    direction: Direction
    travel_um: float


def motion_findings(edges: SteepestEdges, edge_um2: float) -> tuple[Finding, ...]:
    """Finding on motion.

    Parameters
    ----------
    edges : SteepestEdges
    edge_um2 : float
        Blur variance of the edges whose MTF50 counts.
    """
    those = kinds_of(edges, "mark", "code")
    if np.count_nonzero(those) < 3:
        return ()
    blur = np.minimum(edges.variance_um2[those], BEYOND * edge_um2)
    straight, diagonal = blur[:, 0] - blur[:, 2], blur[:, 1] - blur[:, 3]
    along = np.array([np.median(straight), np.median(diagonal)])
    size_um2 = float(np.hypot(*along))
    turn = np.arctan2(along[1], along[0]) / 2
    direction = tuple(Direction)[round(turn / (np.pi / 4)) % 4]
    # A path of length T has a line spread of 1/T along itself.
    moved = Moved(direction, float(np.pi * np.sqrt(size_um2)))
    by_diagonals = abs(along[1])
    blamed = most_lost(by_diagonals, edge_um2) > DIAGONAL_LOSS
    blamed = blamed and by_diagonals > SURE * _error(diagonal)
    lost = most_lost(size_um2, edge_um2)
    return (Finding(Fault.MOTION_BLUR, lost, MOTION, moved, blamed=blamed),)


def _error(values: FloatArray) -> float:
    """Standard error of a mean."""
    return float(values.std(ddof=1) / np.sqrt(len(values)))
