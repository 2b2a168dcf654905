"""Contrast patches of whole captures: borders of survival against many prints, and false finds.

    python tests/evaluate/contrast_study.py prints FILE.jsonl --printers held-out --count 12
    python tests/evaluate/contrast_study.py borders FILE.jsonl
    python tests/evaluate/contrast_study.py grain --count 3400 --printers diffusion_1200
    python tests/evaluate/contrast_study.py bars --count 3

`prints` goes on where it was stopped. A print's border is judged by the mean of all other prints of
its printer: amplitudes averaged, and the powers of their grain.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from collections import defaultdict
from dataclasses import asdict
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from printers import HELD_OUT, PRINTERS
from printers.cameras import Camera, photograph

from dotloupe import Patch, measure_capture, register
from dotloupe.capture import Capture
from dotloupe.evaluate import measure_gratings
from dotloupe.measure import Uncertainty
from dotloupe.measure.contrast import (
    CellImage,
    Grating,
    fit_grating,
    grain_power,
    one_grating,
    survival,
)
from dotloupe.patch import PatchKind
from dotloupe.registration import view_of

SENT_PPI, NYQUIST = 600, 600 / 25.4 / 2
SIX = (
    "diffusion_1200",
    "blue_noise_drops",
    "clustered_200",
    "dye_300",
    *HELD_OUT,
)
STEP = 2**0.5
CELL_MM, PLAIN_MM = (1.02, 1.05), (2.15, 2.2)
FREQUENCIES = tuple(2 ** (k / 2) for k in range(2, 8))
TONES = (0.55, 0.25, 0.1)


def one_print(printer: str, seed: int) -> list[dict[str, object]]:
    """Every grating of one print, photographed once from a place of its own."""
    capture = photographed(printer, "contrast", seed)
    found = measure_gratings(view_of(capture, register(capture)), 350.0)
    return [{"map": name, **asdict(g)} for name, m in found.results.items() for g in m.gratings]


def photographed(printer: str, kind: PatchKind, seed: int) -> Capture:
    """A patch printed, and photographed from a place of its own."""
    rng = np.random.default_rng([seed, 22])
    camera = Camera(
        pixels_per_mm=80.0,
        turn_deg=float(rng.uniform(-2, 2)),
        shift_mm=(float(rng.uniform(-0.3, 0.3)), float(rng.uniform(-0.3, 0.3))),
        light=(0.04, -0.03, 0.04),
    )
    printed = PRINTERS[printer](Patch(SENT_PPI, run=seed % 250, kind=kind), seed)
    with tempfile.TemporaryDirectory() as folder:
        return photograph(printed, camera, seed=seed).to_capture(folder)


def prints(file: Path, names: tuple[str, ...], count: int) -> None:
    """Print, photograph and measure what the file does not hold yet."""
    done = {(row["printer"], row["seed"]) for row in read(file)}
    with file.open("a") as out:
        for seed in range(count):
            for printer in names:
                if (printer, seed) not in done:
                    row = {"printer": printer, "seed": seed, "gratings": one_print(printer, seed)}
                    out.write(json.dumps(row) + "\n")
                    out.flush()


def read(file: Path) -> list[dict[str, object]]:
    """Rows of a file, none where there is no file."""
    return [json.loads(line) for line in file.open()] if file.exists() else []


def borders(file: Path) -> None:
    """Say in how many cells a print's border lies within a step of that of all others."""
    printers = defaultdict(list)
    for row in read(file):
        printers[row["printer"]].append(series_of(row["gratings"]))
    total = {False: [0, 0], True: [0, 0]}
    for printer, each in printers.items():
        near = [
            within_a_step(one[key], mean_of([o[key] for j, o in enumerate(each) if j != i]))
            for i, one in enumerate(each)
            for key in one
        ]
        held = "  held out" if printer in HELD_OUT else ""
        share = 100 * np.mean(near)
        print(f"{printer:22s} {len(each)} prints, {len(near)} borders: {share:.1f} % near{held}")
        total[printer in HELD_OUT][0] += int(np.sum(near))
        total[printer in HELD_OUT][1] += len(near)
    for held_out, (near_count, count) in total.items():
        if count:
            print(f"{'held out' if held_out else 'others':22s} {100 * near_count / count:.1f} %")


def series_of(gratings: list[dict[str, object]]) -> dict[tuple[str, float], list[Grating]]:
    """Gratings of one map and modulation, by these."""
    found = defaultdict(list)
    for row in gratings:
        values = {k: v for k, v in row.items() if k != "map"}
        grating = Grating(**{**values, "uncertainty": Uncertainty(**row["uncertainty"])})
        found[row["map"], grating.modulation].append(grating)
    return found


def mean_of(each: list[list[Grating]]) -> list[Grating]:
    """Gratings with the mean amplitude of many prints, and the grain of one."""
    means = []
    for same in zip(*each, strict=True):
        power = np.mean([g.uncertainty.standard_error**2 for g in same])
        error = Uncertainty(float(np.sqrt(power)), 1e6)
        amplitude = float(np.mean([g.amplitude for g in same]))
        first = same[0]
        means.append(
            Grating(
                first.frequency,
                first.modulation,
                first.sent,
                amplitude,
                error,
                0.0,
                first.mean,
                first.plain,
                first.carried,
            )
        )
    return means


def within_a_step(one: list[Grating], truth: list[Grating]) -> bool:
    """Whether two borders lie within one step of the grid; nothing counts as a step below all."""
    lowest = min(g.frequency for g in one) / STEP
    limits = [survival(s, nyquist=NYQUIST).limit or lowest for s in (one, truth)]
    return bool(abs(np.log(limits[0] / limits[1])) <= np.log(STEP) + 1e-9)


def grain(names: tuple[str, ...], count: int) -> None:
    """Say how often plain grain counts as a grating, on plain tints of whole prints."""
    for printer in names:
        rng = np.random.default_rng(7)
        finds = 0
        fields = [plain_field(printer, tone) for tone in TONES]
        for k in range(count):
            finds += false_find(fields[k % len(fields)], FREQUENCIES[k % len(FREQUENCIES)], rng)
        print(f"{printer:22s} {finds} of {count} places: {100 * finds / count:.2f} %, 1 % stated")


def bars(names: tuple[str, ...], count: int) -> None:
    """Set the limit of full contrast against that of the bars of a detail patch, print by print."""
    steps = []
    for printer in names:
        for seed in range(count):
            maps = measure_capture(photographed(printer, "contrast", seed)).contrast
            limits = measure_capture(photographed(printer, "detail", seed)).limits
            for found in (m for m in maps if m.tone == "middle" and not m.ink):
                full, bar = found.survival_of(0.8), limits[found.axis]
                what = (
                    f"{printer:22s} {found.axis} gratings {full.limit or 0:5.2f} by {full.ended_by}"
                )
                print(f"{what}, bars {bar.limit or 0:5.2f} lp/mm by {bar.ended_by}")
                if full.limit and bar.limit and full.ended_by != "gratings":
                    steps.append(np.log(full.limit / bar.limit) / np.log(STEP))
    near = 100 * np.mean(np.abs(steps) <= 1)
    print(f"{len(steps)} limits: {near:.0f} % within a step, median {np.median(steps):+.2f} steps")


def plain_field(printer: str, tone: float) -> tuple[np.ndarray, float]:
    """Luminance of a printed tint of 36 x 36 mm, means over pixels of about 1/64 mm."""
    side_mm = 36.0
    pixels = round(side_mm / 25.4 * SENT_PPI)
    printed = PRINTERS[printer].print_drawing(np.full((pixels, pixels, 3), tone), SENT_PPI, 11)
    light = printed.cut(0.5, 0.5, side_mm - 1, side_mm - 1) @ np.array([0.2126, 0.7152, 0.0722])
    step = max(1, int(printed.pixels_per_mm / 40))
    rows, columns = (n // step * step for n in light.shape)
    blocks = light[:rows, :columns].reshape(rows // step, step, columns // step, step)
    return blocks.mean(axis=(1, 3)), printed.pixels_per_mm / step


def false_find(field: tuple[np.ndarray, float], frequency: float, rng: np.random.Generator) -> bool:
    """Look for a grating in two cells of grain, by the grain of two plain ones."""
    light, per_mm = field
    turned = light if rng.random() < 0.5 else light.T
    cells = [cell(turned, per_mm, CELL_MM, rng) for _ in range(2)]
    fits = [fit_grating(one, frequency, size_mm=CELL_MM) for one in cells]
    plain = [cell(turned, per_mm, PLAIN_MM, rng) for _ in range(2)]
    power = grain_power(plain, frequency, size_mm=CELL_MM, cell_mm=PLAIN_MM)
    return one_grating(
        fits, (0.0, 0.0), power, frequency=frequency, modulation=0.1, sent=0.1, plain=0.5
    ).stands_out


def cell(
    light: np.ndarray, per_mm: float, size_mm: tuple[float, float], rng: np.random.Generator
) -> CellImage:
    """A cell at a random place."""
    columns, rows = (round(s * per_mm) + 3 for s in size_mm)
    row, column = rng.integers(light.shape[0] - rows), rng.integers(light.shape[1] - columns)
    along, across = np.meshgrid(*((np.arange(n) - (n - 1) / 2) / per_mm for n in (columns, rows)))
    return CellImage(light[row : row + rows, column : column + columns], along, across)


def main() -> None:
    """Run one of the studies."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("study", choices=["prints", "borders", "grain", "bars"])
    parser.add_argument("file", nargs="?", type=Path)
    parser.add_argument("--printers", default="six")
    parser.add_argument("--count", type=int, default=12)
    given = parser.parse_args()
    names = {"six": SIX, "held-out": HELD_OUT}.get(given.printers, tuple(given.printers.split(",")))
    if given.study == "grain":
        grain(names, given.count)
    elif given.study == "bars":
        bars(names, given.count)
    elif given.study == "prints":
        prints(given.file, names, given.count)
    else:
        borders(given.file)


if __name__ == "__main__":
    main()
