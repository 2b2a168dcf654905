"""What the gate says of printers that it does not know: sound captures, and captures with a fault.

    python tests/printers/study.py sound --count 300 --printers held-out --out sound.csv
    python tests/printers/study.py faults --count 40 --printers held-out --out faults.csv

Rows are appended as they are made; a run that is started again makes what is missing.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import cv2
import joblib
import numpy as np
from scipy.ndimage import uniform_filter1d
from scipy.special import j1

sys.path.insert(0, str(Path(__file__).parents[1]))

from study_file import add_rows, read_rows

from dotloupe import Patch
from dotloupe.session import check_file
from printers import HELD_OUT, METHODS, PRINTERS, TUNED, Driver
from printers.cameras import FAULTS, draw_camera, photograph
from printers.truth import EdgeTruth, GrainSpectrum, grain_spectrum, true_edge, true_grain

PPI = (300, 360, 600, 720)
PHOTOGRAPHS_PER_PRINT = 2
COARSEST_PER_MM, FINEST_PER_MM = 60.0, 220.0
STEPS: dict[str, tuple[float, ...]] = {
    "defocus": (25, 35, 45, 60, 80, 110, 150),
    "motion": (30, 45, 60, 80, 110, 150),
    "sharpening": (0.25, 0.4, 0.6, 0.9, 1.3, 2.0),
    "compression": (40, 55, 70, 80, 88, 94),
    "clipping": (0.6, 0.9, 1.2, 1.6, 2.0),
}
FIELD = {"soft corner": 2.0, "tilt": 2.0, "curl": 2.2}
"""Times a defocus: alike in mean square over the patch (tilt, curl), or twice it in the corner."""
COST = 0.1
SMOOTHED_PER_MM = 2.0
"""Width in cycles/mm over which a response is averaged: grain along one strip makes it waver."""
NAMES = {
    "defocus": ("focus", "soft", "sharp"),
    "soft corner": ("focus", "soft", "sharp", "tilt"),
    "tilt": ("focus", "tilt", "soft"),
    "curl": ("focus", "tilt", "soft", "curl"),
    "motion": ("motion", "focus"),
    "sharpening": ("sharpening",),
    "compression": ("compression",),
    "clipping": ("clipped", "exposure"),
}
"""Words in the names of findings by which a fault counts as named."""
COLUMNS = (
    "job",
    "printer",
    "sent_ppi",
    "resampling",
    "print_seed",
    "camera_seed",
    "pixels_per_mm",
    "mosaic",
    "kind",
    "fault",
    "strength",
    "verdict",
    "not_fit",
    "warned",
    "untold",
    "message",
    "seconds",
)

Row = dict[str, Any]


def examined(path: Path) -> Row:
    """Verdict and findings of the package on one file."""
    checked = check_file(path)[0]
    findings = checked.fitness.findings if checked.fitness else ()
    return {
        "verdict": checked.verdict,
        "not_fit": "; ".join(f.name for f in findings if f.severity == "not fit"),
        "warned": "; ".join(f.name for f in findings if f.severity == "warning"),
        "untold": "; ".join(f.name for f in findings if f.severity == "cannot tell"),
        "message": checked.messages[0] if checked.messages else "",
    }


def rows_of_print(
    number: int, names: tuple[str, ...], jobs: tuple[tuple[str | None, int], ...], finest: float
) -> list[Row]:
    """One print and its photographs: a fault (None for sound) and a job each."""
    cv2.setNumThreads(1)
    name = names[number % len(names)]
    sent_ppi = PPI[(number + number // len(names)) % len(PPI)]
    rng = np.random.default_rng([number, 16])
    printer = PRINTERS[name]
    driver = Driver(printer.driver.raster_ppi, METHODS[rng.integers(len(METHODS))])
    faulty = any(fault for fault, _ in jobs)
    shown = Shown.of(name, sent_ppi, driver) if faulty else None
    printed = printer(Patch(sent_ppi=sent_ppi, run=number % 250), number, driver=driver)
    rows = []
    for fault, job in jobs:
        camera = draw_camera(job, pixels_per_mm=(COARSEST_PER_MM, finest))
        strength = shown.least(fault, camera.pixels_per_mm) if fault and shown else 0.0
        if fault and not strength:
            continue
        start = time.perf_counter()
        shot = photograph(printed, camera, fault=fault, strength=strength, seed=job)
        with TemporaryDirectory() as folder:
            verdict = examined(shot.write(Path(folder) / "photograph.tif"))
        rows.append(
            {
                "job": f"{fault or 'sound'} {job}",
                "printer": name,
                "sent_ppi": sent_ppi,
                "resampling": driver.method,
                "print_seed": number,
                "camera_seed": job,
                "pixels_per_mm": round(camera.pixels_per_mm, 1),
                "mosaic": camera.mosaic,
                "kind": camera.kind,
                "fault": fault or "",
                "strength": strength,
                **verdict,
                "seconds": round(time.perf_counter() - start, 1),
            }
        )
    return rows


@dataclass(frozen=True)
class Shown:
    """Edges along both axes and a tint of one print, as a good camera of 100 pixels/mm has them."""

    name: str
    edges: tuple[EdgeTruth, EdgeTruth]
    grain: GrainSpectrum

    @classmethod
    def of(cls, name: str, sent_ppi: int, driver: Driver) -> Shown:
        """Print long edges and a tint."""
        camera, printer = draw_camera(1, pixels_per_mm=(99, 101)), PRINTERS[name]
        edges = tuple(
            true_edge(printer, sent_ppi, camera, axis=axis, strips=1, driver=driver)
            for axis in ("x", "y")
        )
        return cls(name, edges, grain_spectrum(printer, sent_ppi, camera, driver=driver))

    def least(self, fault: str, pixels_per_mm: float) -> float:
        """Least step at which a fault changes MTF50 or visible grain by a tenth; 0 where none."""
        if fault in FIELD:
            return FIELD[fault] * self.least("defocus", pixels_per_mm)
        if fault in STORED:
            return stored_costing(self.name, fault)
        for strength in STEPS[fault]:
            if self._cost(fault, strength, pixels_per_mm) >= COST:
                return float(strength)
        return 0.0

    def _cost(self, fault: str, strength: float, pixels_per_mm: float) -> float:
        changed = []
        for edge in self.edges:
            frequency, width = edge.frequency, int(SMOOTHED_PER_MM / edge.frequency[1])
            smooth = uniform_filter1d(edge.mtf, width, mode="mirror")
            passed = smooth * TRANSFER[fault](frequency, strength, pixels_per_mm)
            changed.append(_half(frequency, passed) / _half(frequency, smooth))
        passed = TRANSFER[fault](self.grain.frequency, strength, pixels_per_mm)
        grain = self.grain.seen(passed) / self.grain.seen()
        return float(max(abs(np.mean(changed) - 1), abs(grain - 1)))


def _half(frequency: Any, response: Any) -> float:
    """Frequency at which a response first falls below half of its start; the last where none."""
    lost = response < 0.5 * response[0]
    return float(frequency[int(np.argmax(lost)) if lost.any() else -1])


def _disc(frequency: Any, strength_um: float, _: float) -> Any:
    """Transfer of an even disc."""
    x = np.maximum(np.pi * frequency * strength_um / 1000, 1e-9)
    return np.abs(2 * j1(x) / x)


def _path(frequency: Any, strength_um: float, _: float) -> Any:
    """Transfer of a straight path along a diagonal, by which x and y lose alike."""
    return np.abs(np.sinc(frequency * strength_um / 1000 / np.sqrt(2)))


def _unsharp(frequency: Any, amount: float, pixels_per_mm: float) -> Any:
    """Gain of an unsharp mask of one pixel."""
    return 1 + amount * (1 - np.exp(-2 * (np.pi * frequency / pixels_per_mm) ** 2))


TRANSFER = {"defocus": _disc, "motion": _path, "sharpening": _unsharp}
STORED = ("compression", "clipping")
"""Faults of single values, which have no transfer: their cost is found by trying."""


@cache
def stored_costing(name: str, fault: str) -> float:
    """Least step at which such a fault changes MTF50 or visible grain; 0 where none does."""
    camera = draw_camera(1, pixels_per_mm=(99, 101))

    def seen(**how: Any) -> tuple[float, float]:
        edge = true_edge(PRINTERS[name], 600, camera, strips=1, **how)
        grain = true_grain(PRINTERS[name], 600, camera, side_mm=12, **how)
        return edge.mtf50, grain.visual_graininess

    sound = seen()
    for strength in STEPS[fault]:
        with_fault = seen(fault=fault, strength=strength)
        if max(abs(b / a - 1) for a, b in zip(sound, with_fault, strict=True)) >= COST:
            return float(strength)
    return 0.0


def outcome(row: Row) -> str:
    """How a row counts: whether a fault was named, whether a sound capture was blamed."""
    if row["fault"]:
        found = f"{row['not_fit']}; {row['warned']}"
        if any(word in found for word in NAMES[row["fault"]]):
            return "named"
        if row["verdict"] == "cannot tell":
            return "cannot tell"
        return "fit" if row["verdict"] == "fit" else "other"
    if row["warned"] and row["verdict"] != "not fit":
        return "warned"
    return "refused" if row["verdict"] == "not fit" else str(row["verdict"])


def print_table(rows: list[Row]) -> None:
    """Outcomes by printer, and by fault where there are faults; what was blamed most."""
    for key in ("fault", "printer", "sent_ppi", "resampling"):
        groups = sorted({(row["fault"], row[key]) for row in rows})
        if key == "fault" and not any(row["fault"] for row in rows):
            continue
        print(f"\nby {key}")
        for fault, value in groups:
            counts = Counter(outcome(r) for r in rows if (r["fault"], r[key]) == (fault, value))
            text = ", ".join(f"{n} {what}" for what, n in sorted(counts.items()))
            print(f"  {fault:12} {value:20} {text}")
    for column in ("not_fit", "warned"):
        blamed = Counter(n for r in rows for n in str(r[column]).split("; ") if n)
        print(f"\n{column}: " + ", ".join(f"{what} {n}" for what, n in blamed.most_common()))


def main() -> None:
    """Run what is missing, then print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kind", choices=("sound", "faults"))
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--printers", choices=("held-out", "tuned"), default="tuned")
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--finest", type=float, default=FINEST_PER_MM, help="pixels/mm at most")
    parser.add_argument("--workers", type=int, default=2)
    given = parser.parse_args()
    names = HELD_OUT if given.printers == "held-out" else TUNED
    done = {row["job"] for row in read_rows(given.out)}
    jobs: dict[int, list[tuple[str | None, int]]] = {}
    for fault in FAULTS if given.kind == "faults" else (None,):
        for job in range(given.count):
            if f"{fault or 'sound'} {job}" not in done:
                jobs.setdefault(job // PHOTOGRAPHS_PER_PRINT, []).append((fault, job))
    calls = [
        joblib.delayed(rows_of_print)(number, names, tuple(wanted), given.finest)
        for number, wanted in jobs.items()
    ]
    made = joblib.Parallel(given.workers, return_as="generator_unordered")(calls)
    add_rows(given.out, COLUMNS, made)
    print_table(read_rows(given.out))


if __name__ == "__main__":
    main()
