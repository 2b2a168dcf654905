"""The camera by two distances of one print, on simulated pairs, against what is true of them.

    python tests/evaluate/two_distances_study.py --count 20 --printers held-out --out held_out.csv

Each job prints a patch, photographs it from two distances with one camera (blur, noise, aperture,
mosaic and place drawn at random), and photographs a blade from both. The detail of the print is
measured with the camera taken out by the two distances, by the blade, and by the camera's true
response: the geometric mean of the edges, and the number with its interval, which is for edges of
the printer at large. Two truths of these very edges, without any camera: the same edge measured on
the print's own raster, and its plain average by distance from the line that was drawn. Rows are
appended as they are made; a run that is started again makes what is missing.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import cv2
import joblib
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from printers import HELD_OUT, PRINTERS, TUNED
from printers.cameras import Camera, draw_camera, photograph
from printers.print_truth import true_detail
from printers.printed import LEVELS_AT_FULL, MARGIN_MM, Print
from study_file import add_rows, read_rows

from dotloupe import Patch, measure_capture
from dotloupe.capture import CameraSettings
from dotloupe.evaluate import camera_by_scale, measure_edges, reference_edge, summarise_edges
from dotloupe.measure import CameraCurve
from dotloupe.patch.layout import SLANT_DEG
from dotloupe.registration import register, view_of

PPI = (360, 600, 300, 720)
FAR_PER_MM, RATIOS = (50.0, 66.0), (1.55, 2.2)
PITCH_UM = 4.0
AT_PER_MM = (3.0, 5.0, 7.0)
"""Cycles/mm at which the camera's response is held against its truth."""
WAYS = ("scales", "blade", "known", "included")
COLUMNS = (
    "job",
    "printer",
    "sent_ppi",
    "ratio",
    "pixels_per_mm",
    "f_number",
    "lens_px",
    "mosaic",
    "axis",
    "raster",
    "drawn_line",
    *(f"{way}{end}" for way in WAYS for end in ("", "_number", "_low", "_high")),
    *(f"camera_{f:g}{end}" for f in AT_PER_MM for end in ("", "_true", "_error")),
    "fault",
)
Row = dict[str, Any]


def blade() -> Print:
    """A straight edge across the middle of a sheet, without any blur but its raster's."""
    per_mm, size_mm = 200.0, (14.0, 10.0)
    x, y = (np.arange(round((n + 2 * MARGIN_MM) * per_mm)) + 0.5 for n in size_mm)
    turn = np.deg2rad(SLANT_DEG)
    middle = (np.array(size_mm) / 2 + MARGIN_MM) * per_mm
    distance = (x - middle[0])[None] * np.cos(turn) - (y - middle[1])[:, None] * np.sin(turn)
    light = 0.04 + 0.86 * np.clip(distance + 0.5, 0, 1)
    levels = np.rint(light * LEVELS_AT_FULL).astype(np.uint16)
    return Print(np.stack([levels] * 3), per_mm, size_mm, (0.9, 0.9, 0.9))


def cameras(job: int) -> tuple[Camera, Camera]:
    """One camera at two distances, the print laid anew for each."""
    rng = np.random.default_rng([job, 77])
    ratio = float(rng.uniform(*RATIOS))
    base = replace(
        draw_camera(900 + job, pixels_per_mm=FAR_PER_MM),
        lens_px=float(rng.uniform(0.2, 0.7)),
        f_number=float(rng.choice([4.0, 5.6, 8.0])),
    )
    laid = [draw_camera(7000 + 2 * job + n) for n in range(2)]
    places = ("turn_deg", "pitch_deg", "yaw_deg", "shift_mm")
    far, near = (
        replace(base, pixels_per_mm=s * base.pixels_per_mm, **{p: getattr(at, p) for p in places})
        for s, at in zip((1.0, ratio), laid, strict=True)
    )
    return far, near


def captured(shown: Print, camera: Camera, seed: int, name: str) -> Any:
    """A capture whose file states aperture and pixel pitch."""
    with TemporaryDirectory() as folder:
        capture = photograph(shown, camera, seed=seed).to_capture(folder)
    settings = CameraSettings(f_number=camera.f_number, pixel_pitch_um=PITCH_UM)
    return replace(capture, settings=settings, path=name)


def rows_of_pair(job: int, names: tuple[str, ...]) -> list[Row]:
    """One print from two distances: detail of both photographs along both axes."""
    cv2.setNumThreads(1)
    name, ppi = names[job % len(names)], PPI[(job + job // len(names)) % len(PPI)]
    patch, both = Patch(sent_ppi=ppi, run=job % 250), cameras(job)
    printed = PRINTERS[name](patch, 500 + job)
    about = {"job": job, "printer": name, "sent_ppi": ppi}
    about["ratio"] = round(both[1].pixels_per_mm / both[0].pixels_per_mm, 3)
    shots = [captured(printed, c, 10 * job + n, f"shot{n}.tif") for n, c in enumerate(both)]
    measured = [measure_capture(shot) for shot in shots]
    try:
        found = camera_by_scale(*measured)
    except Exception as error:  # noqa: BLE001  a pair that is refused is a row too
        return [about | {"fault": str(error)}]
    raster_ppi = PRINTERS[name].driver.raster_ppi
    truth = {axis: true_detail(printed, patch, raster_ppi, axis) for axis in ("x", "y")}
    rows = []
    for n, (shot, camera) in enumerate(zip(shots, both, strict=True)):
        view = view_of(shot, register(shot))
        per_mm = view.registration.pixels_per_mm
        frequency = np.linspace(0, 0.9 * per_mm, 600)
        true = CameraCurve(frequency, camera.transfer(frequency), np.zeros_like(frequency))
        of_blade = reference_edge(captured(blade(), camera, 10 * job + n + 5, "blade.tif"))
        curve = found.on_print(per_mm)
        ways = {"scales": curve, "blade": of_blade.on_print(per_mm), "known": true}
        seen = {w: measure_edges(view, c) for w, c in {**ways, "included": None}.items()}
        detail = {w: summarise_edges(view.shown, edges) for w, edges in seen.items()}
        for axis in ("x", "y"):
            row = about | {
                "pixels_per_mm": round(per_mm, 2),
                "f_number": camera.f_number,
                "lens_px": round(camera.lens_px or 0.0, 3),
                "mosaic": camera.mosaic,
                "axis": axis,
            }
            row["raster"], row["drawn_line"] = (round(t, 4) for t in truth[axis])
            for way, summary in detail.items():
                number, edges = summary.numbers.get(f"detail_{axis}"), seen[way].results
                mids = [e.mtf50 for name, e in edges.items() if name.startswith(f"edge_mid_{axis}")]
                row[way] = round(float(np.exp(np.mean(np.log(mids)))), 4)
                if number is not None:
                    ends = (number.value, number.low, number.high)
                    names = (f"{way}_number", f"{way}_low", f"{way}_high")
                    row |= dict(zip(names, ends, strict=True))
            for f in AT_PER_MM:
                values = (curve.mtf, true.mtf, curve.error)
                grids = (curve.frequency, true.frequency, curve.frequency)
                for end, grid, value in zip(("", "_true", "_error"), grids, values, strict=True):
                    row[f"camera_{f:g}{end}"] = float(np.interp(f, grid, value))
            rows.append(row)
    return rows


def _column(rows: list[Row], name: str) -> np.ndarray:
    return np.array([float(r[name]) if r[name] not in ("", None) else np.nan for r in rows])


def off_percent(rows: list[Row], way: str, truth: str) -> np.ndarray:
    """Relative errors of detail, in per cent."""
    off = 100 * np.log(_column(rows, way) / _column(rows, truth))
    return np.asarray(off[np.isfinite(off)])


def held(rows: list[Row]) -> np.ndarray:
    """Of each response of the camera, whether its 95 % interval holds the true one."""
    off = [_column(rows, f"camera_{f:g}") - _column(rows, f"camera_{f:g}_true") for f in AT_PER_MM]
    errors = [_column(rows, f"camera_{f:g}_error") for f in AT_PER_MM]
    return np.abs(np.array(off)) <= 1.96 * np.array(errors)


def intervals_hold(rows: list[Row], way: str, truth: str) -> float:
    """Share of intervals of detail that hold a truth."""
    low, high, true = (_column(rows, name) for name in (f"{way}_low", f"{way}_high", truth))
    known = np.isfinite(low)
    return float(np.mean(((low <= true) & (true <= high))[known]))


def print_table(rows: list[Row]) -> None:
    """Print how far detail lies from each truth, by the way the camera was taken out."""
    fit = [r for r in rows if not r["fault"]]
    pairs = {r["job"] for r in fit}
    print(f"{len(pairs)} pairs; refused: {sorted({r['fault'] for r in rows if r['fault']})}")
    far = [r for r in fit if float(r["pixels_per_mm"]) < 0.5 * sum(_scales(fit, r["job"]))]
    near = [r for r in fit if r not in far]
    for title, group in (("farther", far), ("nearer", near), ("both", fit)):
        print(f"{title}: {len(group)} numbers")
        for way in WAYS:
            said = []
            for truth in ("known", "raster", "drawn_line"):
                off = off_percent(group, way, truth)
                hold = intervals_hold(group, way, truth)
                rms = float(np.sqrt(np.mean(off**2)))
                said.append(f"{truth} rms {rms:5.2f} % mean {off.mean():+5.2f} % held {hold:.3f}")
            print(f"  {way:9} against {'; '.join(said)}")
        print(f"  camera's intervals hold the true response: {held(group).mean():.3f}")


def _scales(rows: list[Row], job: Any) -> set[float]:
    return {float(r["pixels_per_mm"]) for r in rows if r["job"] == job}


def main() -> None:
    """Run what is missing, then print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=6)
    parser.add_argument("--printers", choices=("held-out", "tuned"), default="held-out")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--workers", type=int, default=1)
    given = parser.parse_args()
    names = HELD_OUT if given.printers == "held-out" else TUNED
    done = {int(row["job"]) for row in read_rows(given.out)}
    calls = [
        joblib.delayed(rows_of_pair)(job, names) for job in range(given.count) if job not in done
    ]
    made = joblib.Parallel(given.workers, return_as="generator_unordered")(calls)
    add_rows(given.out, COLUMNS, made)
    print_table(read_rows(given.out))


if __name__ == "__main__":
    main()
