"""Rebuild the simulated sample captures, bit for bit: python sample_captures/make_samples.py."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from joblib import Parallel, delayed

from dotloupe import Patch
from dotloupe.simulate import (
    ALIGNED,
    FAST,
    FINE,
    MISALIGNED,
    Alignment,
    Mode,
    Shot,
    photograph,
    print_picture,
    write_capture,
)

QUALITY_PPI = 600
LADDER_PPI = (180, 240, 300, 360, 480, 600, 720)
PRINTS = 3
LADDER_PRINTS = 2


@dataclass(frozen=True)
class Sample:
    """One print of the scenario, and the file that its photograph goes to."""

    file: str
    run: int
    label: str
    sent_ppi: int
    mode: Mode
    alignment: Alignment


def scenario() -> Iterator[Sample]:
    """Every print of the scenario; each has a run number of its own."""
    run = 0
    for folder, label, mode, alignment in (
        ("quality/fast", "fast, lustre", FAST, ALIGNED),
        ("quality/fine", "fine, lustre", FINE, ALIGNED),
        ("alignment/before", "fast, before alignment", FAST, MISALIGNED),
        ("alignment/after", "fast, after alignment", FAST, ALIGNED),
    ):
        for number in range(1, PRINTS + 1):
            run += 1
            yield Sample(f"{folder}/print{number}.jpg", run, label, QUALITY_PPI, mode, alignment)
    for ppi in LADDER_PPI:
        for number in range(1, LADDER_PRINTS + 1):
            run += 1
            file = f"ladder/ppi{ppi}/print{number}.jpg"
            yield Sample(file, run, f"fine, {ppi} ppi", ppi, FINE, ALIGNED)


def hand_held_shot(run: int) -> Shot:
    """A careful photograph, differing a little from the others as a person's do."""
    chance = np.random.default_rng(1000 + run)
    return Shot(
        rotation_deg=float(chance.uniform(-1.2, 1.2)),
        tilt_x_deg=float(chance.normal(0, 0.25)),
        tilt_y_deg=float(chance.normal(0, 0.25)),
        focus_error_mm=float(chance.normal(0, 0.04)),
        curl_mm=float(chance.uniform(0, 0.06)),
        light_slope=(float(chance.normal(0, 0.04)), float(chance.normal(0, 0.04))),
        exposure=float(chance.uniform(0.7, 0.8)),
        seed=run,
    )


def make(sample: Sample, folder: Path) -> Path:
    """Print and photograph one sample."""
    patch = Patch(sample.sent_ppi, sample.run, sample.label)
    printed = print_picture(
        patch.draw(),
        sample.sent_ppi,
        mode=sample.mode,
        alignment=sample.alignment,
        seed=sample.run,
    )
    path = folder / sample.file
    path.parent.mkdir(parents=True, exist_ok=True)
    return write_capture(path, photograph(printed, shot=hand_held_shot(sample.run)))


def main() -> None:
    """Make all samples, or those whose file names hold a word given."""
    folder = Path(__file__).parent
    wanted = [s for s in scenario() if all(word in s.file for word in sys.argv[1:])]
    Parallel(n_jobs=2)(delayed(make)(sample, folder) for sample in wanted)
    print(f"{len(wanted)} simulated captures in {folder}")


if __name__ == "__main__":
    main()
