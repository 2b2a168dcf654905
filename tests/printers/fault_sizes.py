"""From what size on the gate notices a fault, and what smaller ones do to the numbers.

    python tests/printers/fault_sizes.py --prints 6 --printers held-out --out FILE.csv

Every print is photographed once without a fault and once with each fault of `cameras.py` at three
sizes; its numbers are held against those of the sound photograph. Rows are kept as they are made,
and a study that was stopped goes on where it was.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from study_file import add_rows, read_rows

from dotloupe import Measurement, Patch, measure_capture
from dotloupe.errors import DotloupeError
from dotloupe.fitness import Finding
from printers import HELD_OUT, PRINTERS, TUNED, Print
from printers.cameras import Camera, draw_camera, photograph

SIZES: dict[str, tuple[float, float, float]] = {
    "defocus": (25, 50, 100),
    "soft corner": (50, 100, 200),
    "tilt": (50, 100, 200),
    "curl": (50, 100, 200),
    "motion": (25, 50, 100),
    "sharpening": (0.2, 0.5, 1.2),
    "compression": (2, 5, 12),
    "clipping": (0.3, 0.7, 1.5),
}
"""In the units of `cameras.photograph`."""
PPI = (600, 300)
PIXELS_PER_MM = (60.0, 80.0)
NUMBERS = ("detail_x", "detail_y", "grain")
COLUMNS = ("print", "printer", "sent_ppi", "fault", "size", "not_fit", "warned", "untold", *NUMBERS)
Row = dict[str, Any]


def rows_of_print(number: int, names: tuple[str, ...], done: set[tuple[str, str]]) -> Iterator[Row]:
    """One print without a fault, and with each fault at each size."""
    cv2.setNumThreads(1)
    name, sent_ppi = names[number % len(names)], PPI[number // len(names) % len(PPI)]
    camera = draw_camera(8000 + number, pixels_per_mm=PIXELS_PER_MM)
    printed = PRINTERS[name](Patch(sent_ppi=sent_ppi, run=number % 250), 8000 + number)
    about = {"print": number, "printer": name, "sent_ppi": sent_ppi}
    sizes = [("sound", 0.0), *((f, s) for s_at in range(3) for f, s in _at(s_at))]
    for fault, size in sizes:
        if (fault, str(size)) not in done:
            found = measured(printed, camera, fault, size, seed=8000 + number)
            yield about | {"fault": fault, "size": size} | found


def _at(place: int) -> list[tuple[str, float]]:
    return [(fault, float(sizes[place])) for fault, sizes in SIZES.items()]


def measured(printed: Print, camera: Camera, fault: str, size: float, *, seed: int) -> Row:
    """Findings and numbers of one photograph."""
    which = None if fault == "sound" else fault
    with TemporaryDirectory() as folder:
        capture = photograph(printed, camera, fault=which, strength=size, seed=seed).to_capture(
            folder
        )
    try:
        m: Measurement = measure_capture(capture)
    except DotloupeError as error:
        return {"not_fit": str(error), "warned": "", "untold": ""}
    findings = findings_on(m)
    numbers = {n: f"{m.numbers[n].value:.6g}" for n in NUMBERS if n in m.numbers}
    return numbers | {
        "not_fit": "; ".join(f.name for f in findings if f.severity == "not fit"),
        "warned": "; ".join(f.name for f in findings if f.severity == "warning"),
        "untold": "; ".join(f.name for f in findings if f.severity == "cannot tell"),
    }


def findings_on(m: Measurement) -> tuple[Finding, ...]:
    """What the gate says of a photograph: beside its numbers, or why it has none."""
    if not m.fit:
        return tuple(r for r in m.reasons if isinstance(r, Finding))
    fitness = getattr(m, "fitness", None)
    return fitness.findings if fitness else ()


def half_noticed(sizes: list[float], shares: list[float]) -> float | None:
    """Size at which half are noticed, between the two sizes about it by their logarithms."""
    for (small, few), (large, many) in zip(
        zip(sizes, shares, strict=True), zip(sizes[1:], shares[1:], strict=True), strict=False
    ):
        if few < 0.5 <= many:
            part = (0.5 - few) / (many - few)
            return float(np.exp(np.log(small) + part * np.log(large / small)))
    return None


def print_table(rows: list[Row]) -> None:
    """Share noticed by fault and size, and the change of the numbers where it was not."""
    sound = {r["print"]: r for r in rows if r["fault"] == "sound"}
    blamed = sum(_noticed(r) for r in sound.values())
    print(f"{len(sound)} prints; sound photographs blamed: {blamed}")
    print("| fault | size | noticed | cannot tell | neither | unnoticed: detail | grain |")
    print("|---|---|---|---|---|---|---|")
    for fault, sizes in SIZES.items():
        shares = []
        for size in sizes:
            group = [r for r in rows if r["fault"] == fault and float(r["size"]) == size]
            group = [r for r in group if r["print"] in sound]
            if not group:
                continue
            noticed = sum(_noticed(r) for r in group)
            shares.append(noticed / len(group))
            missed = [r for r in group if not _noticed(r)]
            change = _changes(missed, sound)
            detail, grain = (
                _range([*change["detail_x"], *change["detail_y"]]),
                _range(change["grain"]),
            )
            open_ = sum(not _noticed(r) and bool(r["untold"]) for r in group)
            counts = f"{noticed} of {len(group)} | {open_} | {len(missed) - open_}"
            print(f"| {fault} | {size:g} | {counts} | {detail} | {grain} |")
        half = half_noticed([float(s) for s in sizes[: len(shares)]], shares)
        print(f"| {fault} | half noticed at {'-' if half is None else f'{half:.3g}'} | | | | | |")


def _noticed(row: Row) -> bool:
    return bool(row["not_fit"] or row["warned"])


def _changes(rows: list[Row], sound: dict[Any, Row]) -> dict[str, list[float]]:
    found: dict[str, list[float]] = defaultdict(list)
    for row in rows:
        for name in NUMBERS:
            if row[name] and sound[row["print"]][name]:
                found[name].append(100 * (float(row[name]) / float(sound[row["print"]][name]) - 1))
    return found


def _range(changes: list[float]) -> str:
    if not changes:
        return "-"
    return f"{np.mean(changes):+.1f} % ({min(changes):+.1f} to {max(changes):+.1f})"


def main() -> None:
    """Run what is missing, then print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--prints", type=int, default=4)
    parser.add_argument("--printers", choices=("held-out", "tuned"), default="held-out")
    parser.add_argument("--out", type=Path, required=True)
    given = parser.parse_args()
    names = HELD_OUT if given.printers == "held-out" else TUNED
    done = defaultdict(set)
    for row in read_rows(given.out):
        done[int(row["print"])].add((row["fault"], row["size"]))
    whole = 1 + sum(map(len, SIZES.values()))
    for number in range(given.prints):
        if len(done[number]) < whole:
            made = ([row] for row in rows_of_print(number, names, done[number]))
            add_rows(given.out, COLUMNS, made)
    print_table(read_rows(given.out))


if __name__ == "__main__":
    main()
