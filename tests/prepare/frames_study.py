"""Frames of five printers and twenty pictures: place, time and detail kept, against an open search.

    python tests/prepare/frames_study.py --out FILE.csv

Each frame is printed and photographed once (simulated). The unmarked way is given the same
photograph cropped to the picture within its marks, and finds it by its content. A run that is
started again makes what is missing, and prints the table.
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import asdict, dataclass, fields, replace
from pathlib import Path
from typing import get_type_hints

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parent))

from framed import (
    MASTER_PPI,
    MM_PER_INCH,
    PRINTERS,
    off_px,
    photographed,
    printed_frame,
    printed_place,
    single,
    true_homography,
)
from place_bound import least_error_mm
from printers.cameras import draw_camera
from study_file import add_rows, read_rows

from dotloupe import measure_capture, register
from dotloupe.capture import Capture, SentPicture
from dotloupe.errors import NotFitError
from dotloupe.patch import Patch, framed_part

CHOSEN = ("dye_300", "silver_400", "blue_noise_drops", "clustered_150", "diffusion_720x1440")
"""The two held out, both of continuous tone, and the one of finest dots."""
PICTURES = (
    *("astronaut", "camera", "coffee", "chelsea", "rocket", "retina", "brick", "coins", "gravel"),
    *("grass", "immunohistochemistry", "moon", "page", "text", "clock", "cell", "colorwheel"),
    *("hubble_deep_field", "retina", "hubble_deep_field"),
)
CORNERS_MM = {18: (20, 30), 19: (10, 20)}
"""Of a second part of a picture."""
ASKED_PX, TENTH = 0.05, 0.1
FRAMED_MM = (28.0, 12.7)
MIDDLE_MM = np.array([4.5, 5.0, 25.5, 14.0])


@dataclass(frozen=True)
class Row:
    """One frame; NaN or empty where there is nothing."""

    printer: str
    number: int
    picture: str
    pixels_per_mm: float
    off_px: float
    bound_px: float
    sent_px: float
    search_off_px: float
    seconds: float
    search_seconds: float
    kept_x: float
    kept_y: float
    search_kept_x: float
    search_kept_y: float
    low_x: float
    high_x: float
    low_y: float
    high_y: float
    reason: str


@dataclass(frozen=True)
class Alone:
    """The photograph of the picture alone, as if nothing stood round it.

    `to_own` maps a pixel of the whole photograph to one of it.
    """

    capture: Capture
    to_own: np.ndarray


def cropped(capture: Capture, homography: np.ndarray, patch: Patch) -> Alone:
    """Crop a photograph to the picture in a frame; the homography leads to mm of the frame."""
    region = patch.regions["picture"]
    x = np.array([region.x_mm + 0.3, region.x_mm + region.width_mm - 0.3])
    y = np.array([region.y_mm + 0.3, region.y_mm + region.height_mm - 0.3])
    corners = np.array([[[a, b]] for a in x for b in y])
    seen = cv2.perspectiveTransform(corners, np.linalg.inv(homography))[:, 0]
    left, top = np.ceil(np.sort(seen, axis=0)[1]).astype(int)
    right, bottom = np.floor(np.sort(seen, axis=0)[2]).astype(int)
    to_own = np.array([[1, 0, -left], [0, 1, -top], [0, 0, 1]])
    return Alone(replace(capture, pixels=capture.pixels[top:bottom, left:right]), to_own)


def print_of(name: str) -> SentPicture:
    """An open picture, printed as large as a frame asks for, at most at 600 ppi."""
    picture = single(name)
    width, height = FRAMED_MM
    rows, columns = picture.shape
    ppi = min(columns / (width + 1), rows / (height + 1)) * MM_PER_INCH
    return replace(picture, ppi=min(ppi, MASTER_PPI))


def timed(capture: Capture, picture):
    """Registration, or why there is none, and its seconds."""
    started = time.perf_counter()
    try:
        found = register(capture, picture=picture)
    except NotFitError as error:
        found = error
    return found, time.perf_counter() - started


def kept(capture: Capture, picture, axis: str) -> tuple[float, float, float]:
    """Detail kept along an axis and its interval, cycles/mm."""
    number = measure_capture(capture, picture=picture).numbers.get(f"picture_kept_{axis}")
    return (np.nan,) * 3 if number is None else (number.value, number.low, number.high)


def measured(printer: str, number: int) -> Row:
    """Print a frame, photograph it, and find it both ways."""
    picture, ppi = print_of(PICTURES[number]), PRINTERS[printer].driver.raster_ppi
    patch = Patch(ppi, number, "simulated", "picture", CORNERS_MM.get(number, (0, 0)))
    place = printed_place(printer, ppi)
    printed = printed_frame(printer, picture, patch)
    camera = draw_camera(number, pixels_per_mm=(60.0, 110.0))
    capture = photographed(printed, camera, seed=number)
    true = true_homography(printed, patch, picture, camera, place=place)
    part = framed_part(patch, picture.shape, picture.ppi)
    alone = cropped(capture, np.linalg.inv(part.from_mm) @ true, patch)
    found, seconds = timed(capture, picture)
    searched, search_seconds = timed(alone.capture, picture)
    row = {field.name: np.nan for field in fields(Row)}
    row |= {"printer": printer, "number": number, "picture": PICTURES[number], "reason": ""}
    row |= {"pixels_per_mm": camera.pixels_per_mm, "seconds": seconds}
    row["search_seconds"] = search_seconds
    row["bound_px"] = camera.pixels_per_mm * least_error_mm(patch, place.scatter_mm, MIDDLE_MM)
    scale = camera.pixels_per_mm * MM_PER_INCH / picture.ppi
    if isinstance(found, NotFitError):
        row["reason"] = str(found)
        return Row(**row)
    row["off_px"] = off_px(found.homography, true, capture.shape, scale)
    row["sent_px"] = row["off_px"] * ppi / MM_PER_INCH / camera.pixels_per_mm
    if not isinstance(searched, NotFitError):
        from_alone = searched.homography @ alone.to_own
        row["search_off_px"] = off_px(from_alone, true, capture.shape, scale)
    for axis in "xy":
        row[f"kept_{axis}"] = kept(capture, picture, axis)[0]
        row[f"search_kept_{axis}"], row[f"low_{axis}"], row[f"high_{axis}"] = kept(
            alone.capture, picture, axis
        )
    return Row(**row)


def table(rows: list[Row]) -> list[str]:
    """One line a printer, and what is asked of each."""
    lines = []
    for printer in dict.fromkeys(r.printer for r in rows):
        own = [r for r in rows if r.printer == printer]
        placed = [r for r in own if not np.isnan(r.off_px)]
        off, bound = (np.array([getattr(r, key) for r in placed]) for key in ("off_px", "bound_px"))
        within = sum(off <= np.maximum(ASKED_PX, bound))
        ratio = np.median([r.seconds / r.search_seconds for r in placed])
        both = [(r, a) for r in placed for a in "xy" if not np.isnan(getattr(r, f"low_{a}"))]
        agree = sum(
            getattr(r, f"low_{a}") <= getattr(r, f"kept_{a}") <= getattr(r, f"high_{a}")
            for r, a in both
        )
        searched = np.array([r.search_off_px for r in placed])
        of_file = np.median([r.sent_px for r in placed])
        lines.append(
            f"{printer}: {len(placed)} of {len(own)} found; rms {np.median(off):.3f} px, worst "
            f"{off.max():.3f} (bound {np.median(bound):.3f}; {of_file:.3f} px of "
            f"the file); {within} within {ASKED_PX} px or the bound; unmarked "
            f"{np.nanmedian(searched):.3f} px, {sum(~np.isnan(searched))} found; time "
            f"{np.median([r.seconds for r in placed]):.2f} s, {ratio:.3f} of the search's; detail "
            f"kept within the unmarked way's interval {agree} of {len(both)}"
        )
    return lines


def rows_of(out: Path) -> list[Row]:
    """Rows made so far."""
    types = get_type_hints(Row)
    return [Row(**{k: types[k](v) for k, v in r.items()}) for r in read_rows(out)]


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--out", type=Path, required=True)
    given.add_argument("--pictures", type=int, default=len(PICTURES))
    options = given.parse_args()
    done = {(r.printer, r.number) for r in rows_of(options.out)}
    wanted = ((p, n) for p in CHOSEN for n in range(options.pictures) if (p, n) not in done)
    columns = [field.name for field in fields(Row)]
    add_rows(options.out, columns, ([asdict(measured(*one))] for one in wanted))
    print(*table(rows_of(options.out)), sep="\n")


if __name__ == "__main__":
    main()
