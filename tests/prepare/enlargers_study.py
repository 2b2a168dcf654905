"""Enlarged, sharpened and invented versions of a picture, printed, photographed and ranked.

    python tests/prepare/enlargers_study.py --out FILE.csv

A picture of 600 ppi, its half and its quarter enlarged by five methods, one enlarged version with
texture planted, and three strengths of an unsharp mask: each in its frame through two printers of
`tests/printers` (simulated). A run that is started again makes what is missing, and prints tables.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy import ndimage

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parent))

from framed import MASTER_PPI, PRINTERS, photographed, printed_frame, single
from printers.cameras import Camera
from study_file import add_rows, read_rows
from test_enlargers import BY_TRANSFER, ENLARGERS, KNOWN, PER_MM, enlarged

from dotloupe import measure_capture, rank
from dotloupe.capture import SentPicture, picture_of
from dotloupe.measurement import PictureMeasurement
from dotloupe.number import PICTURE_CRITERIA, Number
from dotloupe.patch import Patch, srgb_encode
from dotloupe.prepare import align_version
from dotloupe.report import ranking_model

CHOSEN = ("blue_noise_drops", "diffusion_720x1440")
"""One to learn on, and one held out, of 720 and 360 ppi."""
PICTURES = ("gravel", "grass")
"""Side by side: each alone is too narrow for a frame, and its mirror images would repeat it."""
CORNER_MM = (5, 2)
FACTORS = (2, 4)
AMOUNTS = (0.7, 1.5, 3.0)
"""Of an unsharp mask of two pixels."""
PLANTED = 0.05
"""Rms reflectance of invented texture, before the printer."""
CAMERA = Camera(pixels_per_mm=80.0, turn_deg=0.8, pitch_deg=0.2, yaw_deg=-0.1)
COLUMNS = ("printer", "version", "print", "number", "value", "low", "high")


def picture_of_600_ppi() -> SentPicture:
    """The master."""
    pixels = np.concatenate([single(name).pixels for name in PICTURES], axis=1)
    return replace(picture_of(np.ascontiguousarray(pixels)), ppi=MASTER_PPI)


def texture(shape: tuple[int, int]) -> np.ndarray:
    """Fine structure that no picture holds."""
    noise = np.random.default_rng(9).standard_normal(shape)
    band = ndimage.gaussian_filter(noise, 2.0) - ndimage.gaussian_filter(noise, 4.0)
    return PLANTED * band / band.std()


def versions(picture: SentPicture) -> Iterator[tuple[str, np.ndarray]]:
    """Name and linear light of every version; the picture itself is the first."""
    light = picture.light()
    yield "master", light
    for factor in FACTORS:
        for method in ENLARGERS:
            yield f"{method} {factor}", enlarged(light, factor, method)
    yield "invented 4", enlarged(light, 4, "bicubic") + texture(light.shape)
    for amount in AMOUNTS:
        yield f"sharpened {amount}", light + amount * (light - ndimage.gaussian_filter(light, 2.0))


def as_picture(light: np.ndarray) -> SentPicture:
    """The file of a version."""
    coded = np.rint(65535 * np.asarray(srgb_encode(np.clip(light, 0, 1)))).astype(np.uint16)
    return picture_of(np.ascontiguousarray(np.dstack([coded] * 3)))


def measured(printer: str, name: str, light: np.ndarray, number: int) -> list[dict]:
    """Print one version in its frame, photograph it, and hold it against the picture."""
    picture = picture_of_600_ppi()
    patch = Patch(PRINTERS[printer].driver.raster_ppi, 1 + number, name, "picture", CORNER_MM)
    version = None if name == "master" else align_version(as_picture(light), picture)
    printed = printed_frame(printer, picture, patch, seed=number, version=version)
    found = measure_capture(photographed(printed, CAMERA, number), picture=picture)
    return [
        {
            "printer": printer,
            "version": name,
            "print": number,
            "number": key,
            "value": n.value,
            "low": n.low,
            "high": n.high,
        }
        for key, n in found.numbers.items()
    ]


def as_measurements(rows: list[dict]) -> dict[str, list[PictureMeasurement]]:
    """What `rank` takes, one print of each version."""
    found = {}
    for name in dict.fromkeys(r["version"] for r in rows):
        own = [r for r in rows if r["version"] == name]
        numbers = {
            r["number"]: number_of(r["number"], *(float(r[k]) for k in ("value", "low", "high")))
            for r in own
        }
        shot = f"{name} {own[0]['print']}"
        run = 1 + int(own[0]["print"])
        found[name] = [
            PictureMeasurement(f"{shot}.tif", shot, shot, run, None, True, (), (), numbers)
        ]
    return found


def number_of(name: str, value: float, low: float, high: float) -> Number:
    """A number of a picture again."""
    criterion = PICTURE_CRITERIA[name]
    return Number(value, low, high, criterion.unit, criterion.measurand)


def table(rows: list[dict]) -> list[str]:
    """Every version's numbers, and whether their orders are those that are known."""
    lines = []
    for printer in dict.fromkeys(r["printer"] for r in rows):
        own = [r for r in rows if r["printer"] == printer]
        at = {(r["version"], r["number"]): float(r["value"]) for r in own}
        names = list(dict.fromkeys(r["version"] for r in own))
        keys = [f"{q}_{a}" for q in ("picture_kept", "response", "halo", "unrelated") for a in "xy"]
        lines.append(f"{printer}: {', '.join(keys)}")
        lines += [
            f"  {n:14}" + " ".join(f"{at.get((n, k), np.nan):7.3f}" for k in keys) for n in names
        ]
        for factor in FACTORS:
            for quantity in ("picture_kept", "response"):
                lines += [order(at, factor, f"{quantity}_{axis}") for axis in "xy"]
        halos = {a: [at[v, f"halo_{a}"] for v in names if "sharp" in v] for a in "xy"}
        lines += [
            f"  halo along {a} rises with {len(h)} amounts: {h == sorted(h)}"
            for a, h in halos.items()
        ]
        ranked = ranking_model(rank(as_measurements(own)))
        lines += [
            f"  named: {f.setting} along {f.axis}, {f.ratio:.2f} times that of {f.reference}"
            for f in ranked.added_structure
        ]
    return lines


def order(at: dict, factor: int, key: str) -> str:
    """Methods by a number, least first, beside the order of their known transfer there."""
    values = {m: at.get((f"{m} {factor}", key), np.nan) for m in BY_TRANSFER}
    if not np.isfinite(list(values.values())).all():
        return f"  {key}, 1/{factor}: not all measured"
    middle = float(np.mean(list(values.values()))) * factor / PER_MM
    known = {m: float(KNOWN[m](middle) / KNOWN[m](0.0)) for m in BY_TRANSFER}
    found, wanted = (" < ".join(sorted(BY_TRANSFER, key=v.__getitem__)) for v in (values, known))
    same = found == wanted
    return f"  {key}, 1/{factor}: {found}; known transfer at {middle:.2f}: {wanted}; same: {same}"


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--out", type=Path, required=True)
    options = given.parse_args()
    made = {(r["printer"], r["version"]) for r in read_rows(options.out)}
    every = list(versions(picture_of_600_ppi()))
    wanted = [
        (printer, name, light, number)
        for number, (name, light) in enumerate(every)
        for printer in CHOSEN
        if (printer, name) not in made
    ]
    add_rows(options.out, COLUMNS, (measured(*one) for one in wanted))
    print(*table(read_rows(options.out)), sep="\n")


if __name__ == "__main__":
    main()
