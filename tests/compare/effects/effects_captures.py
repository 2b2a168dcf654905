"""Whole captures of two printers, mode by alignment, with a planted interaction.

    python tests/compare/effects/effects_captures.py --out FILE.csv

Misalignment is planted on the finished print as uneven tone of the fast mode's tints; the slow
mode prints the same with and without it. The fast mode is softer, as much before as after. So grain
holds an interaction and detail none. A run that is started again makes what is missing.
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

from printers import PRINTERS
from printers.cameras import draw_camera, photograph

from dotloupe import Patch, measure_capture
from dotloupe.compare.effects import effects
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number
from dotloupe.report import effects_model
from dotloupe.report.text import effects_table

CHOSEN = ("silver_400", "dye_300")
"""Two whose prints take seconds; no limit of the effects was learnt from any printer."""
PRINTS = 3
SENT_PPI = 600
FAST_BLUR_MM = 0.012
UNEVEN = {("fast", "before"): 0.06}
"""Relative amplitude of uneven tone in the middle tones."""
GRAIN_MM = 0.25
CELLS = tuple(product(("fast", "slow"), ("before", "after")))


def planted(print_, mode, alignment, seed):
    """The print with what its mode and its alignment do to it."""
    per_mm = print_.pixels_per_mm
    rng = np.random.default_rng([seed, 20])
    shape = print_.levels.shape[1:]
    coarse = rng.normal(0, 1, [int(n / per_mm / GRAIN_MM) + 2 for n in shape]).astype(np.float32)
    uneven = cv2.resize(coarse, shape[::-1], interpolation=cv2.INTER_CUBIC)
    levels = []
    for channel in range(3):
        paper = print_.paper[channel]
        light = print_.reflectance(channel) / np.float32(paper)
        if mode == "fast":
            light = cv2.GaussianBlur(light, (0, 0), FAST_BLUR_MM * per_mm)
        local = np.clip(cv2.GaussianBlur(light, (0, 0), 0.15 * per_mm), 0, 1)
        light = light * (1 + UNEVEN.get((mode, alignment), 0.0) * uneven * 4 * local * (1 - local))
        levels.append(np.clip(light * paper * 60000, 0, 65535).astype(np.uint16))
    return replace(print_, levels=np.stack(levels))


def measured(name, number, mode, alignment):
    """Numbers of one print's photograph, or why there are none."""
    seed = 1000 * number + 7
    print_ = planted(PRINTERS[name](Patch(SENT_PPI, number), seed), mode, alignment, seed)
    shot = photograph(print_, draw_camera(11, pixels_per_mm=(100.0, 140.0)), seed=seed)
    with TemporaryDirectory() as folder:
        m = measure_capture(shot.to_capture(folder))
    row = {"printer": name, "mode": mode, "alignment": alignment, "run": number, "fit": m.fit}
    return row | numbers_row(m)


def numbers_row(measurement):
    """Value and interval of every criterion, empty where there is none."""
    return {
        f"{criterion}_{key}": "" if n is None else getattr(n, key)
        for criterion in CRITERIA
        for n in [measurement.numbers.get(criterion)]
        for key in ("value", "low", "high")
    }


def analysed(rows, levels_of):
    """Effects over rows; `levels_of` gives the level of every factor of a row."""
    settings, levels = {}, {}
    for row in rows:
        numbers = {
            name: Number(
                *(float(row[f"{name}_{key}"]) for key in ("value", "low", "high")),
                criterion.unit,
                criterion.measurand,
            )
            for name, criterion in CRITERIA.items()
            if row.get(f"{name}_value")
        }
        of_row = levels_of(row)
        setting = ", ".join(map(str, of_row.values()))
        path = f"{setting}, run {row['run']}"
        m = Measurement(
            path, path, path, int(row["run"]), of_row.get("ppi", SENT_PPI), True, (), (), numbers
        )
        settings.setdefault(setting, []).append(m)
        levels[setting] = of_row
    return effects(settings, levels)


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--out", type=Path, required=True)
    file = given.parse_args().out
    rows = list(csv.DictReader(file.open())) if file.exists() else []
    done = {(r["printer"], int(r["run"])) for r in rows}
    for name in CHOSEN:
        jobs = list(product(range(PRINTS), CELLS))
        for number, (_, (mode, alignment)) in enumerate(jobs, start=1):
            if (name, number) in done:
                continue
            row = measured(name, number, mode, alignment)
            with file.open("a") as out:
                writer = csv.DictWriter(out, list(row))
                if not rows:
                    writer.writeheader()
                writer.writerow(row)
            rows.append({k: str(v) for k, v in row.items()})
            print(name, number, mode, alignment, row["fit"], row["grain_value"], flush=True)
    for name in CHOSEN:
        own = [r for r in rows if r["printer"] == name and r["fit"] == "True"]
        found = analysed(own, lambda row: {key: row[key] for key in ("mode", "alignment")})
        print(f"\n== {name}, simulated\n{effects_table(effects_model(found))}")


if __name__ == "__main__":
    main()
