"""Study: photographs of 22 megapixels of soft prints, simulated, found in the pictures sent.

`python tests/registration/picture/soft_study.py [first] [last]` prints the table of these frames.

Each picture is a sheet of nine photographs that scikit-image ships, enlarged 2 to 4 times before
it is printed at 200 to 600 ppi, so that it holds nothing near its own sampling. A frame shows 24
to 36 mm of it. It is looked for in its picture, in one of other photographs, and in the same
sheet with the photographs changed for others where it lies.
"""

import sys
import time
from dataclasses import dataclass, replace

import cv2
import numpy as np

from dotloupe import register
from dotloupe.capture.capture import Capture
from dotloupe.capture.own_picture_file import picture_of
from dotloupe.errors import NotFitError
from dotloupe.registration.homography import map_points

if __package__:
    from .picture_bound import LEAST_VARIANCE, least_error_px
    from .picture_study import BLACK, LINEAR, coloured
else:
    from picture_bound import LEAST_VARIANCE, least_error_px
    from picture_study import BLACK, LINEAR, coloured

PARTS = (
    ("coffee", (60, 100)),
    ("chelsea", (20, 30)),
    ("rocket", (80, 120)),
    ("retina", (500, 500)),
    ("immunohistochemistry", (0, 60)),
    ("coins", (10, 0)),
    ("hubble_deep_field", (200, 300)),
    ("brick", (10, 60)),
    ("motorcycle", (0, 20)),
)
OTHERS = (
    ("moon", (100, 60)),
    ("gravel", (200, 90)),
    ("retina", (100, 700)),
    ("retina", (900, 300)),
    ("immunohistochemistry", (260, 140)),
    ("grass", (50, 60)),
    ("hubble_deep_field", (500, 100)),
    ("brick", (260, 60)),
    ("motorcycle", (250, 300)),
)
"""Nothing of `PARTS`, though five are of the same wall, street, sky, eye or tissue."""
PART_SIZE = (240, 360)
FRAME_SIZE = (3840, 5760)
BOUND_STEP = 4
MM_PER_INCH = 25.4
PLACED_PX = 0.15
"""Bound below which a frame must be found."""
MOST_ERROR_PX = 0.5


@dataclass(frozen=True)
class Soft:
    """A simulated photograph of a soft print."""

    number: int
    capture: Capture
    homography: np.ndarray
    picture: np.ndarray
    other: np.ndarray
    part: str
    enlarged: float
    ppi: float
    least_error_px: float


@dataclass(frozen=True)
class Search:
    """What a search came to."""

    found: bool
    error_px: float
    reason: str
    seconds: float


def sheet(parts, enlarged):
    """Nine photographs in three rows, each a part enlarged."""
    rows, columns = (round(enlarged * n) for n in PART_SIZE)
    tiles = []
    for name, (top, left) in parts:
        part = named(name)[top : top + PART_SIZE[0], left : left + PART_SIZE[1]]
        tiles.append(cv2.resize(part, (columns, rows), interpolation=cv2.INTER_CUBIC))
    return np.vstack([np.hstack(tiles[i : i + 3]) for i in (0, 3, 6)])


def named(name):
    """Photograph by its name."""
    from skimage import data

    if name == "motorcycle":
        return data.stereo_motorcycle()[0]
    return coloured(name)


def soft_frame(number):
    """The frame of that number."""
    rng = np.random.default_rng([number, 17])
    enlarged, ppi = rng.uniform(2, 4), rng.uniform(200, 600)
    width_mm = rng.uniform(24, 36)
    picture, other = sheet(PARTS, enlarged), sheet(OTHERS, enlarged)
    scale = FRAME_SIZE[1] / width_mm / (ppi / MM_PER_INCH)
    angle = rng.uniform(0, 2 * np.pi) if number % 2 else np.deg2rad(rng.uniform(-5, 5))
    c, s = np.cos(angle) / scale, np.sin(angle) / scale
    turned = np.abs(np.array([[c, -s], [s, c]])) @ (np.array(FRAME_SIZE[::-1]) / 2)
    tile = [round(enlarged * n) for n in PART_SIZE]
    which = number % 9
    middle = []
    for axis, place in ((1, which % 3), (0, which // 3)):
        reach = turned[1 - axis] + 8
        low, high = tile[axis] * place, tile[axis] * (place + 1)
        at = rng.uniform(low + reach, high - reach) if high - low > 2 * reach else (low + high) / 2
        middle.append(float(np.clip(at, reach, 3 * tile[axis] - reach)))
    tilt = rng.uniform(-0.015, 0.015, 2) / np.array(FRAME_SIZE[::-1])
    to_middle = np.array([[1, 0, -FRAME_SIZE[1] / 2], [0, 1, -FRAME_SIZE[0] / 2], [0, 0, 1]])
    truth = np.array([[c, -s, middle[0]], [s, c, middle[1]], [0, 0, 1]])
    truth = truth @ np.array([[1, 0, 0], [0, 1, 0], [*tilt, 1]]) @ to_middle
    pixels, least_px = photographed(picture, truth, scale, ppi, rng)
    capture = Capture(f"simulated {number}", f"{number:064}", pixels, LINEAR, np.full(3, 0.8))
    name = PARTS[which][0]
    return Soft(number, capture, truth, picture, other, name, enlarged, ppi, least_px)


def photographed(picture, truth, scale, ppi, rng):
    """16-bit pixels of the photograph, and the least error of its place in picture pixels."""
    light = picture_of(picture).linear[picture].astype(np.float32)
    light = cv2.GaussianBlur(light, (0, 0), rng.uniform(0.4, 0.9))
    flags = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    seen = cv2.warpPerspective(light, truth, FRAME_SIZE[::-1], flags=flags, borderValue=(1,) * 3)
    seen = np.clip(BLACK + (1 - BLACK) * seen, BLACK, 1)
    few = cv2.resize(seen, None, fx=1 / BOUND_STEP, fy=1 / BOUND_STEP, interpolation=cv2.INTER_AREA)
    # dots of 20 to 60 um, whatever the picture's own sampling
    dot_px = max(rng.uniform(0.02, 0.06) / MM_PER_INCH * ppi * scale, 1.0)
    rows, columns = (int(np.ceil(n / dot_px)) + 1 for n in FRAME_SIZE)
    chance = rng.random((rows, columns, 3), dtype=np.float32)
    y, x = ((np.arange(n) / dot_px).astype(int) for n in FRAME_SIZE)
    inked = chance[y[:, None], x[None, :]] > (seen - BLACK) / (1 - BLACK)
    seen = np.where(inked, np.float32(BLACK), np.float32(1.0))
    seen = cv2.GaussianBlur(seen, (0, 0), rng.uniform(1.0, 2.5))
    v = np.linspace(-0.5, 0.5, FRAME_SIZE[0], dtype=np.float32)[:, None]
    u = np.linspace(-0.5, 0.5, FRAME_SIZE[1], dtype=np.float32)[None, :]
    slope = rng.uniform(-0.3, 0.3, 2).astype(np.float32)
    lamp = (1 + slope[0] * u + slope[1] * v) * (1 - np.float32(0.2) * (u * u + v * v))
    sensor = rng.uniform(0.003, 0.015)
    lit = np.float32(0.75) * seen * lamp[..., None]
    lit += np.float32(sensor) * rng.standard_normal(lit.shape, dtype=np.float32)
    density = dot_px**2 * np.maximum((few - BLACK) * (1 - few), LEAST_VARIANCE)
    density = (density + (sensor / 0.75) ** 2) / BOUND_STEP**2
    shape = few.shape[:2]
    reduced = truth @ np.diag([BOUND_STEP, BOUND_STEP, 1.0])
    least_px = least_error_px((1 - BLACK) * light, reduced, shape, density)
    return np.round(65535 * np.clip(lit, 0, 1)).astype(np.uint16), least_px


def look_for(soft, picture):
    """Search for a frame in a picture, and its error against the truth."""
    start = time.perf_counter()
    try:
        homography = register(soft.capture, picture=picture).homography
    except NotFitError as error:
        return Search(False, np.nan, str(error), time.perf_counter() - start)
    seconds = time.perf_counter() - start
    rows, columns = soft.capture.shape
    x, y = np.meshgrid(np.linspace(0, columns - 1, 7), np.linspace(0, rows - 1, 7))
    points = np.column_stack([x.ravel(), y.ravel()])
    apart = map_points(homography, points) - map_points(soft.homography, points)
    return Search(True, float(np.sqrt(np.mean(np.sum(apart**2, axis=1)))), "", seconds)


def elsewhere(soft):
    """The picture with the thirds that the frame shows changed for other photographs."""
    changed = soft.picture.copy()
    rows, columns = soft.capture.shape
    corners = np.array([[0, 0], [columns, 0], [columns, rows], [0, rows]], float)
    seen = map_points(soft.homography, corners)
    tile = np.array([round(soft.enlarged * n) for n in PART_SIZE[::-1]])
    low = np.clip(np.floor(seen.min(axis=0) / tile), 0, 2).astype(int)
    high = np.clip(np.floor(seen.max(axis=0) / tile), 0, 2).astype(int)
    part = np.s_[
        low[1] * tile[1] : (high[1] + 1) * tile[1], low[0] * tile[0] : (high[0] + 1) * tile[0]
    ]
    changed[part] = soft.other[part]
    return changed


def study(numbers):
    """Frames with what was found in their picture, in another, and beside their own place."""
    outcomes = []
    for number in numbers:
        soft = soft_frame(number)
        searches = [look_for(soft, p) for p in (soft.picture, soft.other, elsewhere(soft))]
        bare = replace(soft, capture=None, picture=None, other=None)
        outcomes.append((bare, *searches))
        print(line(*outcomes[-1]), flush=True)
    return outcomes


def line(soft, right, other, beside):
    """One row of the table."""
    found = f"{right.error_px:.3f} px" if right.found else right.reason[27:90]
    wrong = ", ".join("FALSE" if o.found else f"refused {o.seconds:.1f} s" for o in (other, beside))
    return (
        f"{soft.number:3d} {soft.part:20s} x {soft.enlarged:.1f} {soft.ppi:3.0f} ppi "
        f"bound {soft.least_error_px:.3f} {found} {right.seconds:.1f} s; {wrong}"
    )


def summary(outcomes):
    """What the study says, in lines."""
    placeable = [right for soft, right, *_ in outcomes if soft.least_error_px <= PLACED_PX]
    searches = [o for _, *all_three in outcomes for o in all_three]
    false = sum(o.found for _, _, *wrong in outcomes for o in wrong)
    misplaced = sum(right.found and right.error_px > MOST_ERROR_PX for _, right, *_ in outcomes)
    seconds = {f: [o.seconds for o in searches if o.found is f] for f in (True, False)}
    errors = [o.error_px for o in placeable if o.found]
    rms_px = np.sqrt(np.mean(np.square(errors)))
    found = sum(o.found for o in placeable)
    return [
        f"{len(placeable)} of {len(outcomes)} can be placed to {PLACED_PX} px",
        f"{found} of them found, rms {rms_px:.3f} px",
        f"{false} found where they do not lie, {misplaced} misplaced by over {MOST_ERROR_PX} px",
        *(
            f"{'found' if f else 'refused'} in {np.median(s):.1f} s (median), {max(s):.1f} at most"
            for f, s in seconds.items()
            if s
        ),
    ]


if __name__ == "__main__":
    first, last = (int(a) for a in (sys.argv[1:3] if len(sys.argv) > 2 else (0, 60)))
    print(*summary(study(range(first, last))), sep="\n")
