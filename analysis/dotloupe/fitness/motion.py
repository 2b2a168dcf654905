"""Motion: one direction in which everything is blurred, grain and edges alike."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from dotloupe.fitness.finding import Evidence, Fault, FaultLimits, Finding, Symptom
from dotloupe.fitness.focus import POSSIBLE_LOSS, band_of, clear_tiles, most_lost
from dotloupe.fitness.mark_blur import MarkEdges
from dotloupe.fitness.tint_spectra import GrainSpectra

MOTION_BAND = (10.0, 16.0)
MOTION = FaultLimits(
    Symptom.TRAVEL,
    45.0,
    120.0,
    "um",
    "45 um take a twentieth off the MTF50 across them and are beyond what printers make of their "
    "grain's own unevenness between directions; 120 um take a third",
)


class Direction(StrEnum):
    """Directions in the frame, by turns of 45 degrees from its rows."""

    ACROSS = "across the frame"
    DOWN_RIGHT = "down to the right"
    UPRIGHT = "up and down the frame"
    UP_RIGHT = "up to the right"


@dataclass(frozen=True)
class Moved(Evidence):
    """In which direction the picture is blurred."""

    direction: Direction


def motion_findings(
    spectra: GrainSpectra, edges: MarkEdges, edge_um2: float
) -> tuple[Finding, ...]:
    """Finding on motion.

    Parameters
    ----------
    spectra : GrainSpectra
    edges : MarkEdges
    edge_um2 : float
        Blur variance of the edges whose MTF50 counts.
    """
    # Motion is the same everywhere: what the sharper marks exclude, it has not done.
    lost = most_lost(float(np.sort(edges.sharpest_um2, axis=0)[:2].mean(axis=0).max()), edge_um2)
    band = band_of(spectra, MOTION_BAND)
    tiles = clear_tiles(spectra)
    if lost <= POSSIBLE_LOSS.warning or not tiles or band.stop - band.start < 3:
        return (Finding(Fault.MOTION_BLUR, lost, POSSIBLE_LOSS, blamed=False),)
    floor = max(float(spectra.noise[band].mean()) / 4, 1e-12)
    by_tile = np.array([spectra.printed(tile)[:, band] for tile in tiles])
    logs = np.log(np.maximum(by_tile, floor)).mean(axis=0)
    unlike = np.median(np.roll(logs, 2, axis=0) - logs, axis=1)
    worst = int(np.argmax(unlike))
    travel = 1000 * np.sqrt(3 * max(unlike[worst], 0.0)) / (np.pi * float(np.mean(MOTION_BAND)))
    evidence = Moved(tuple(Direction)[worst])
    return (Finding(Fault.MOTION_BLUR, float(travel), MOTION, evidence),)
