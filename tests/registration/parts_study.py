"""Parts of whole captures, placed and measured, against the whole's own registration and numbers.

    python tests/registration/parts_study.py quarters --count 60 --out quarters.csv
    python tests/registration/parts_study.py nearer --count 20 --out nearer.csv

`quarters` cuts each capture into 2 x 2 parts of 58 % of its sides, each with one or two marks, and
a middle without one. `nearer` photographs at 1.5 and 2.5 times the scale and keeps a third of the
frame. Rows are appended as they are made; a run that is started again makes what is missing.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import cv2
import joblib
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from printers import HELD_OUT, PRINTERS
from printers.cameras import draw_camera, photograph
from study_file import add_rows, read_rows

from dotloupe import Patch, measure_capture
from dotloupe.measurement import PatchMeasurement
from dotloupe.registration import map_points

SHOWN = (*HELD_OUT, "silver_400")
"""The two held out, and one that no bound of the parts was set by."""
TUNED = ("blue_noise_drops", "clustered_200", "swath_passes")
PPI = (360, 600, 300, 720)
QUARTER = 0.58
BASE_PER_MM = (60.0, 85.0)
SCALES = (1.5, 2.5)
COLUMNS = (
    "job",
    "printer",
    "sent_ppi",
    "pixels_per_mm",
    "part",
    "placed",
    "message",
    "off_px",
    "off_um",
    "whole_residual_px",
    "fit",
    "whole_fit",
    "cut_measured",
    "edges",
    "edge_off_percent",
    "detail_off_percent",
    "tints",
    "grain_off_percent",
    "grain_off_percent_without_paper",
    "bars",
    "bar_contrast_off",
)

Row = dict[str, Any]


@dataclass(frozen=True)
class Part:
    """Rows and columns of a capture."""

    name: str
    rows: slice
    columns: slice


def quarters(rows: int, columns: int) -> tuple[Part, ...]:
    """2 x 2 parts that overlap in the middle, and a middle that no mark reaches into."""
    height, width = round(QUARTER * rows), round(QUARTER * columns)
    ends_y = {"upper": slice(0, height), "lower": slice(rows - height, rows)}
    ends_x = {"left": slice(0, width), "right": slice(columns - width, columns)}
    parts = [Part(f"{v} {h}", y, x) for v, y in ends_y.items() for h, x in ends_x.items()]
    inner = slice(round(0.2 * rows), round(0.8 * rows)), slice(0, columns)
    return (*parts, Part("no mark", *inner))


def third(rows: int, columns: int, number: int) -> Part:
    """A third of the frame: about a corner, or a strip at the left or right."""
    if number % 2:
        width = round(columns / 3)
        ends = (slice(0, width), slice(columns - width, columns))
        return Part("strip", slice(0, rows), ends[number // 2 % 2])
    return quarters(rows, columns)[number // 2 % 4]


def off_px(found: Any, whole: Any, part: Part, shape: tuple[int, int]) -> float:
    """Rms distance of two registrations over the patch that a part shows, in capture pixels."""
    x, y = np.meshgrid(np.linspace(0.3, 29.7, 60), np.linspace(0.3, 19.7, 40))
    points = np.column_stack([x.ravel(), y.ravel()])
    first = (part.columns.start, part.rows.start)
    seen = map_points(np.linalg.inv(whole.homography), points) - first
    inside = np.all((seen >= 0) & (seen < np.array(shape[::-1])), axis=1)
    placed = map_points(np.linalg.inv(found.homography), points[inside])
    return float(np.sqrt(np.mean(np.sum((placed - seen[inside]) ** 2, axis=1))))


def measured_regions(m: PatchMeasurement, patch: Patch) -> set[str]:
    """Names of the regions that a measurement has results of."""
    names = {*m.edges, *m.dots, *(name for groups in m.bars.values() for name in groups)}
    names |= {f"tint_{tone}" for tone in m.tints}
    names |= {"texture"} if m.texture is not None else set()
    lines = (r for r in patch.regions.values() if r.kind == "line" and r.direction in m.placement)
    return names | {r.name for r in lines}


def cut_measured(m: PatchMeasurement, whole: Any, part: Part, shape: tuple[int, int]) -> int:
    """Elements measured of which, by the whole's registration, some lies outside the part."""
    patch = whole.patch
    count = 0
    for name in measured_regions(m, patch):
        corners = map_points(
            np.linalg.inv(whole.homography), np.array(patch.regions[name].corners_mm)
        )
        seen = corners - (part.columns.start, part.rows.start)
        count += bool(np.any(seen < 0) or np.any(seen > np.array(shape[::-1]) - 1))
    return count


def compared(m: PatchMeasurement, whole: PatchMeasurement) -> Row:
    """How far elements and numbers of a part lie from the whole's; several in one cell by ;."""
    both = [(e, whole.edges[n]) for n, e in m.edges.items() if n in whole.edges]
    edges = [100 * (one.mtf50 / other.mtf50 - 1) for one, other in both]
    detail = [
        100 * (m.numbers[n].value / whole.numbers[n].value - 1)
        for n in ("detail_x", "detail_y")
        if n in m.numbers and n in whole.numbers
    ]
    grain: dict[bool, list[float]] = {True: [], False: []}
    for tone, tint in m.tints.items():
        if tone not in whole.tints:
            continue
        with_paper = not any(type(c).__name__ == "PaperIncluded" for c in tint.cautions)
        seen = tint.visual_graininess / whole.tints[tone].visual_graininess
        grain[with_paper].append(100 * (seen - 1))
    bars = [
        found.contrast - whole.bars[axis][n].contrast
        for axis, groups in m.bars.items()
        for n, found in groups.items()
        if n in whole.bars[axis]
    ]
    return {
        "edges": len(edges),
        "edge_off_percent": _cell(edges),
        "detail_off_percent": _cell(detail),
        "tints": len(m.tints),
        "grain_off_percent": _cell(grain[True]),
        "grain_off_percent_without_paper": _cell(grain[False]),
        "bars": len(bars),
        "bar_contrast_off": _cell(bars, 4),
    }


def _cell(values: list[float], digits: int = 3) -> str:
    return ";".join(f"{value:.{digits}f}" for value in values)


def rows_of_capture(kind: str, job: int, names: tuple[str, ...]) -> list[Row]:
    """One print, its whole photographs, and parts of them."""
    cv2.setNumThreads(1)
    name, ppi = names[job % len(names)], PPI[(job + job // len(names)) % len(PPI)]
    printed = PRINTERS[name](Patch(sent_ppi=ppi, run=job % 250), 500 + job)
    camera = draw_camera(700 + job, pixels_per_mm=BASE_PER_MM)
    rows: list[Row] = []
    for scale in SCALES if kind == "nearer" else (1.0,):
        near = replace(camera, pixels_per_mm=scale * camera.pixels_per_mm)
        capture = _captured(photograph(printed, near, seed=job))
        whole = measure_capture(capture)
        shape = capture.shape
        parts = (third(*shape, job),) if kind == "nearer" else quarters(*shape)
        for part in parts:
            row = {
                "job": f"{job} {scale:g}",
                "printer": name,
                "sent_ppi": ppi,
                "pixels_per_mm": round(near.pixels_per_mm, 1),
                "part": part.name,
                "whole_fit": whole.fit,
            }
            rows.append(row | of_part(capture, whole, part))
    return rows


def _captured(shot: Any) -> Any:
    from tempfile import TemporaryDirectory

    with TemporaryDirectory() as folder:
        return shot.to_capture(folder)


def of_part(capture: Any, whole: PatchMeasurement, part: Part) -> Row:
    """Place and measure a part."""
    cut = replace(capture, pixels=capture.pixels[part.rows, part.columns])
    found = measure_capture(cut)
    if found.registration is None:
        message = "; ".join(getattr(r, "text", str(r)) for r in found.reasons)
        return {"placed": False, "message": message, "fit": found.fit}
    registered = whole.registration
    off = off_px(found.registration, registered, part, cut.shape)
    row = {
        "placed": True,
        "fit": found.fit,
        "off_px": round(off, 3),
        "off_um": round(1000 * off / registered.pixels_per_mm, 2),
        "whole_residual_px": round(registered.residual_px, 3),
        "cut_measured": cut_measured(found, registered, part, cut.shape),
    }
    return row | compared(found, whole)


def _values(rows: list[Row], column: str) -> np.ndarray[Any, Any]:
    return np.array([float(v) for r in rows for v in str(r[column] or "").split(";") if v])


def print_table(rows: list[Row]) -> None:
    """Print what was placed, and how far parts lie from wholes, by printer and scale."""
    marked = [r for r in rows if r["part"] != "no mark"]
    unmarked = [r for r in rows if r["part"] == "no mark"]
    refused = [r for r in unmarked if r["placed"] == "False" and "\n" not in r["message"]]
    placed = [r for r in marked if r["placed"] == "True"]
    print(f"placed {len(placed)} of {len(marked)} parts with a mark")
    print(f"refused in one line {len(refused)} of {len(unmarked)} parts without one")
    print(f"cut elements measured: {int(_values(placed, 'cut_measured').sum())}")
    unfit = [r for r in placed if r["fit"] == "False" and r["whole_fit"] == "True"]
    print(f"not fit where the whole is: {len(unfit)}")
    groups = [("all", placed)]
    for key in ("printer", "job"):
        of = {str(r[key]).split(" ")[-1]: None for r in placed}
        groups += [(k, [r for r in placed if str(r[key]).split(" ")[-1] == k]) for k in of]
    for title, of_group in groups:
        print(f"{title}: {len(of_group)} parts")
        for column in COLUMNS:
            if not column.startswith(("off_", "edge_off", "detail_", "grain_", "bar_", "whole_r")):
                continue
            values = _values(of_group, column)
            if values.size:
                rms = np.sqrt(np.mean(values**2))
                middle = np.median(np.abs(values))
                print(
                    f"  {column:32} rms {rms:7.3f}  median {middle:7.3f}"
                    f"  largest {np.abs(values).max():8.3f}  n {values.size}"
                )


def main() -> None:
    """Run what is missing, then print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kind", choices=("quarters", "nearer"))
    parser.add_argument("--count", type=int, default=6)
    parser.add_argument("--printers", choices=("shown", "tuned"), default="shown")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--workers", type=int, default=1)
    given = parser.parse_args()
    names = SHOWN if given.printers == "shown" else TUNED
    done = {int(str(row["job"]).split(" ")[0]) for row in read_rows(given.out)}
    calls = [
        joblib.delayed(rows_of_capture)(given.kind, job, names)
        for job in range(given.count)
        if job not in done
    ]
    made = joblib.Parallel(given.workers, return_as="generator_unordered")(calls)
    add_rows(given.out, COLUMNS, made)
    print_table(read_rows(given.out))


if __name__ == "__main__":
    main()
