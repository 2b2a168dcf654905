"""What is true of a setting and of a print, without camera and without the measuring code.

The definition of visible grain (a published filter of the eye, the slope of lightness) is taken
from `dotloupe.measure.seeing`; the spectra and the edges are the simulator's own.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from simulated_truth import GrainTruth, grain_truth, true_edge_response, true_tint_grain

from dotloupe import simulate
from dotloupe.measure.seeing import cycles_per_degree, dooley_shaw_transfer, lightness_slope
from dotloupe.patch.layout import COLOURS, EDGE_TONES, GREYS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sessions import Session, Setting

    from dotloupe import Patch

CRITERIA = ("detail_x", "detail_y", "grain")
VIEWING_DISTANCE_MM = 350.0
TINTS = {name: tone for name, tone in (GREYS | COLOURS).items() if name != "paper"}
INSET_MM = 0.2
EDGE_PRINTS = 4
"""Of 15 mm square, with 150 mm of edge each: eight times what a patch has in one direction. One of
them differs from the next by 1.1 % rms, too much to judge an interval of 5 % by."""
EDGE_PRINTS_CAMERA_INCLUDED = 1
"""Where the camera is included it takes more than 10 %: no interval is judged by that truth."""
TINT_PRINTS = 2


def truth_of_setting(session: Session, setting: Setting) -> dict[str, float]:
    """Detail and visible grain over places and prints that are not those measured."""
    how = {
        "printer": session.printer,
        "mode": setting.mode,
        "alignment": setting.alignment,
        "paper": session.paper,
        "seed": 100_000 + 100 * session.seed,
    }
    light, dark = EDGE_TONES["mid"]
    edge_prints = EDGE_PRINTS if session.camera_known else EDGE_PRINTS_CAMERA_INCLUDED
    details = {
        f"detail_{axis}": true_edge_response(
            axis,
            tones=(dark, light),
            sent_ppi=setting.sent_ppi,
            prints=edge_prints,
            **how,
        ).mtf50
        for axis in ("x", "y")
    }
    grains = [
        true_tint_grain(tone, side_mm=4.0, prints=TINT_PRINTS, **how) for tone in TINTS.values()
    ]
    return details | {"grain": visible_grain(grains)}


def grain_of_print(printed: simulate.Print, patch: Patch) -> float:
    """Visible grain of the tints of this very print, where a patch is measured."""
    grains = []
    for name in TINTS:
        (left, top), _, (right, bottom), _ = patch.regions[f"tint_{name}"].corners_mm
        window = (left + INSET_MM, top + INSET_MM, right - INSET_MM, bottom - INSET_MM)
        grains.append(grain_truth(printed, window, texture=False))
    return visible_grain(grains)


def visible_grain(grains: Iterable[GrainTruth]) -> float:
    """Root of the mean square over tints of the lightness variation behind the eye."""

    def eye(fx: np.ndarray, fy: np.ndarray) -> np.ndarray:
        return dooley_shaw_transfer(cycles_per_degree(np.hypot(fx, fy), VIEWING_DISTANCE_MM))

    squares = [float(lightness_slope(g.mean)) ** 2 * g.variance_through(eye) for g in grains]
    return float(np.sqrt(np.mean(squares)))
