"""Two ladders from whole captures, mode by ppi: what is enough in each, and whether they differ.

    python tests/compare/effects/ladders_captures.py --out FILE.csv

The fast mode is the printer's own light softened on the finished print, so that its detail stops
rising sooner. True detail is that of a long edge, softened as much. A run that is started again
makes what is missing.
"""

from __future__ import annotations

import argparse
import csv
import sys
from dataclasses import replace
from itertools import product
from pathlib import Path
from tempfile import TemporaryDirectory

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from effects_captures import analysed, numbers_row
from printers import PRINTERS
from printers.cameras import draw_camera, photograph
from printers.truth import true_edge

from dotloupe import Patch, measure_capture

PRINTER = "silver_400"
"""Its prints take seconds; no limit of the effects was learnt from any printer."""
UM_PER_MM = 1000
BLUR_UM = {"slow": 0.0, "fast": 35.0}
PPI = (150, 200, 300, 400, 600)
PRINTS = 3


def softened(print_, mode):
    """The print as a mode lays it down."""
    if not BLUR_UM[mode]:
        return print_
    sigma = BLUR_UM[mode] / UM_PER_MM * print_.pixels_per_mm
    return replace(
        print_, levels=np.stack([cv2.GaussianBlur(c, (0, 0), sigma) for c in print_.levels])
    )


def true_mtf50(mode, ppi, axis):
    """MTF50 of a long edge in a mode, in cycles/mm."""
    edge = true_edge(
        PRINTERS[PRINTER], ppi, draw_camera(11, pixels_per_mm=(99.0, 101.0)), axis=axis
    )
    blur = np.exp(-2 * (np.pi * edge.frequency * BLUR_UM[mode] / UM_PER_MM) ** 2)
    return float(edge.frequency[int(np.argmax(edge.mtf * blur < 0.5))])


def measured(mode, ppi, number):
    """Detail of one print's photograph."""
    print_ = softened(PRINTERS[PRINTER](Patch(ppi, number), 1000 + number), mode)
    shot = photograph(print_, draw_camera(11, pixels_per_mm=(99.0, 101.0)), seed=number)
    with TemporaryDirectory() as folder:
        m = measure_capture(shot.to_capture(folder))
    row = {"mode": mode, "ppi": ppi, "run": number, "fit": m.fit}
    return row | numbers_row(m)


def main() -> None:
    """Make what is missing, then print both ladders beside the truth."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--out", type=Path, required=True)
    file = given.parse_args().out
    rows = list(csv.DictReader(file.open())) if file.exists() else []
    done = {int(r["run"]) for r in rows}
    jobs = list(product(range(PRINTS), BLUR_UM, PPI))
    for number, (_, mode, ppi) in enumerate(jobs, start=1):
        if number in done:
            continue
        row = measured(mode, ppi, number)
        with file.open("a") as out:
            writer = csv.DictWriter(out, list(row))
            if not rows:
                writer.writeheader()
            writer.writerow(row)
        rows.append({k: str(v) for k, v in row.items()})
    fit = [r for r in rows if r["fit"] == "True"]
    found = analysed(fit, lambda row: {"mode": row["mode"], "ppi": int(row["ppi"])})
    for curves in [c for c in found.curves if c.name in ("detail_x", "detail_y")]:
        axis = curves.name[-1]
        print(f"{curves.name}, simulated: curves differ: {curves.differ}")
        for line in curves.lines:
            mode = line.levels["mode"]
            true = {ppi: round(true_mtf50(mode, ppi, axis), 2) for ppi in PPI}
            reached = f"enough {line.enough_ppi} ppi, reached at {line.crossing_interval} ppi"
            print(f"  {mode}: {reached}; true detail {true}")
        print("  ratios", curves.ratios)


if __name__ == "__main__":
    main()
