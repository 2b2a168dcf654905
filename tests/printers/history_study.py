"""The story of a head: misaligned, aligned, four good months, misaligned again, by captures.

    python tests/printers/history_study.py prints --count 12 --out prints.json
    python tests/printers/history_study.py story --out prints.json

`prints` makes aligned and misaligned prints of a printer that no limit was tuned on, photographs
and measures them, and appends their numbers; started again it makes what is missing. `story` draws
the prints of each of 20 histories from them, without one print twice in a history, and judges them
month by month. Each ink is printed by itself and laid over the others, cyan of a misaligned head
moved along x.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from dotloupe import History, Patch, load_capture, measure_capture
from dotloupe.measurement import Measurement
from dotloupe.number import Number
from printers import HELD_OUT, PRINTERS, Printer
from printers.cameras import draw_camera, photograph
from printers.printed import grey_and_colours

PRINTER = HELD_OUT[0]
OFFSET_UM = 20.0
GOOD, BAD = "aligned", "misaligned"
PER_VISIT, GOOD_MONTHS, STORIES = 3, (2, 3, 4, 5), 20


def with_offset(printer: Printer, offset_um: float) -> Printer:
    """The printer with its inks laid over one another, cyan moved along x."""
    pixels = round(offset_um / 1000 * printer.pixels_per_mm)

    def render(raster: np.ndarray, seed: int) -> Iterator[np.ndarray]:
        grey, colours = grey_and_colours(raster)
        sheet: list[np.ndarray] = []
        for ink in range(4):
            alone = np.ones_like(raster)
            if ink < 3:
                alone[..., ink] = colours[..., ink]
            else:
                alone *= grey[..., None]
            for channel, layer in enumerate(printer.render(alone, 10 * seed + ink)):
                moved = np.roll(layer, pixels, axis=1) if ink == 0 and pixels else layer
                if ink == 0:
                    sheet.append(np.array(moved, np.float32))
                else:
                    sheet[channel] *= moved
        yield from sheet

    return replace(printer, render=render)


def numbers_of(state: str, seed: int) -> dict[str, Any]:
    """Numbers of one print, photographed once by the camera of this study."""
    cv2.setNumThreads(1)
    printer = with_offset(PRINTERS[PRINTER], OFFSET_UM if state == BAD else 0.0)
    number = seed + (500 if state == BAD else 0)
    printed = printer(Patch(sent_ppi=360, run=seed % 250), number)
    camera = draw_camera(1, pixels_per_mm=(99, 101))
    shot = photograph(printed, camera, seed=number)
    with TemporaryDirectory() as folder:
        measured = measure_capture(load_capture(shot.write(Path(folder) / "photograph.tif")))
    return {
        "state": state,
        "seed": seed,
        "fit": measured.fit,
        "reasons": [str(r) for r in measured.reasons],
        "numbers": {
            n: [v.value, v.uncertainty.standard_error if v.uncertainty else None, v.unit]
            for n, v in measured.numbers.items()
        },
    }


def make(count: int, out: Path) -> None:
    """Make what is missing of `count` good prints and half as many bad ones."""
    rows = json.loads(out.read_text()) if out.exists() else []
    done = {(r["state"], r["seed"]) for r in rows}
    for seed in range(count):
        for state in (GOOD, BAD) if seed < (count + 1) // 2 else (GOOD,):
            if (state, seed) not in done:
                rows.append(numbers_of(state, seed))
                out.write_text(json.dumps(rows))
                print(state, seed, rows[-1]["fit"], rows[-1]["reasons"], flush=True)


def story(rows: list[dict[str, Any]], seed: int, folder: Path) -> dict[str, Any]:
    """One history of prints drawn from those made; the verdicts of May and June."""
    rng = np.random.default_rng(seed)
    pool = {
        s: rng.permutation([r for r in rows if r["state"] == s and r["fit"]]) for s in (GOOD, BAD)
    }
    path = folder / f"{seed}.sqlite"
    history, drawn = History(path), {GOOD: iter(pool[GOOD]), BAD: iter(pool[BAD])}
    found: dict[str, Any] = {}
    for month in (1, *GOOD_MONTHS, 6):
        state = GOOD if month in GOOD_MONTHS else BAD
        shots = [_measurement(next(drawn[state]), f"{month}-{i}") for i in range(PER_VISIT)]
        history.add(
            shots, printer="desk", paper="lustre", mode="fast", printed_on=date(2026, month, 5)
        )
        if month == 1:
            history.add_event("alignment", printer="desk", happened_on="2026-01-20")
        found[date(2026, month, 5).strftime("%B")] = history.verdict()
    return found


def _measurement(row: dict[str, Any], name: str) -> Measurement:
    numbers = {}
    for n, (value, error, unit) in row["numbers"].items():
        half = float("nan") if error is None else 1.96 * error
        numbers[n] = Number(value, value - half, value + half, unit)
    return Measurement(name, name, name, row["seed"], 360.0, True, (), (), numbers)


def main() -> None:
    """Make prints, or tell the stories."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("prints", "story"))
    parser.add_argument("--count", type=int, default=12)
    parser.add_argument("--out", type=Path, required=True)
    given = parser.parse_args()
    if given.what == "prints":
        make(given.count, given.out)
        return
    rows = json.loads(given.out.read_text())
    with TemporaryDirectory() as folder:
        told = [story(rows, seed, Path(folder)) for seed in range(STORIES)]
    for month in told[0]:
        due = [t[month].due for t in told]
        counts = {str(d): due.count(d) for d in (True, False, None)}
        inks = [t[month].inks for t in told]
        print(month, counts, "cyan named:", sum("cyan" in i for i in inks), "other inks:",
              sum(bool(set(i) - {"cyan"}) for i in inks))  # fmt: skip
    print("June, by:", [t["June"].because for t in told])


if __name__ == "__main__":
    main()
