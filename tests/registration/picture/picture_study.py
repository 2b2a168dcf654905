"""Study: photographs of small parts of prints, simulated, found in the pictures that were sent.

`python tests/registration/picture/picture_study.py [captures]` prints the table.

The pictures are those that scikit-image ships: single ones, and mosaics of 12 megapixels in which
each is enlarged and stands once. A photograph is sampled through a homography from the picture
under a blur, its tones made of scattered dots of ink, under uneven light with a colour cast and
with the noise of a sensor. Some frames show so little through their dots that no search could
place them to a tenth of a picture pixel: the bound on the error of each is printed beside it.
"""

import sys
import time
from dataclasses import dataclass

import cv2
import numpy as np
from skimage import data

from dotloupe import register
from dotloupe.capture.capture import Capture
from dotloupe.capture.own_picture_file import picture_of
from dotloupe.errors import NotFitError
from dotloupe.registration.homography import map_points

if __package__:
    from .picture_bound import LEAST_VARIANCE, least_error_px
else:
    from picture_bound import LEAST_VARIANCE, least_error_px

LINEAR = np.linspace(0, 1, 65536, dtype=np.float32)
NAMES = (
    "coffee",
    "chelsea",
    "rocket",
    "retina",
    "brick",
    "hubble_deep_field",
    "coins",
    "gravel",
    "grass",
    "immunohistochemistry",
)
MOSAICS = (
    ("immunohistochemistry", "coffee", "chelsea", "rocket"),
    ("retina", "brick", "coins", "gravel"),
)
MOSAIC_SIZE = (3000, 4000)
LONGEST_FRAME_PX = 1500
LEAST_SHARE = 0.003
ASKED_PX = 0.1
"""Of the picture, rms over the frame."""
BLACK = 0.03
"""Reflectance of the simulated ink's black."""


@dataclass(frozen=True)
class Taken:
    """A simulated photograph: its picture, its truth, and what was done to it."""

    number: int
    picture: str
    capture: Capture
    homography: np.ndarray
    scale: float
    share: float
    least_error_px: float


@dataclass(frozen=True)
class Outcome:
    """What was found of one photograph."""

    taken: Taken
    found: bool
    error_px: float
    reason: str
    seconds: float


def coloured(name):
    image = getattr(data, name)()
    return image if image.ndim == 3 else np.repeat(image[..., None], 3, axis=2)


def mosaic(names):
    """Four pictures, each enlarged to a quarter of 12 megapixels."""
    height, width = MOSAIC_SIZE[0] // 2, MOSAIC_SIZE[1] // 2
    tiles = [
        cv2.resize(coloured(name), (width, height), interpolation=cv2.INTER_CUBIC) for name in names
    ]
    return np.vstack([np.hstack(tiles[:2]), np.hstack(tiles[2:])])


def pictures():
    """All pictures by name."""
    return {
        **{name: coloured(name) for name in NAMES},
        **{f"mosaic {i + 1}": mosaic(names) for i, names in enumerate(MOSAICS)},
    }


def photograph(number, sent):
    """The photograph of that number: of a mosaic in every other one."""
    rng = np.random.default_rng([number, 5])
    name = f"mosaic {number // 2 % 2 + 1}" if number % 2 else NAMES[number // 2 % len(NAMES)]
    picture = sent[name]
    height, width = picture.shape[:2]
    # The scale runs through 0.5 to 30, or to what still shows 0.3 % of a mosaic in a small frame.
    place = (number // 2 * 0.618) % 1.0
    least_side = np.sqrt(LEAST_SHARE * height * width / 1.5)
    highest = min(30.0, LONGEST_FRAME_PX / 1.5 / least_side) if number % 2 else 30.0
    scale = float(0.5 * (highest / 0.5) ** place)
    largest = min(LONGEST_FRAME_PX / 1.5, 0.62 * scale * min(height, width))
    smallest = max(least_side * scale, 240.0)
    short = float(np.clip(rng.uniform(0.6, 1.0) * largest, min(smallest, largest), largest))
    shape = (round(short), round(min(1.5 * short, 0.9 * scale * max(height, width))))
    truth = _placed(rng, (height, width), shape, scale)
    light, least_px = _printed(picture, truth, shape, scale, rng)
    coded = np.round(65535 * np.clip(light, 0, 1)).astype(np.uint16)
    capture = Capture(f"simulated {number}", f"{number:064}", coded, LINEAR, np.full(3, 0.8))
    share = shape[0] * shape[1] / scale**2 / (height * width)
    return Taken(number, name, capture, truth, scale, share, least_px)


def _placed(rng, size, shape, scale):
    """Homography, capture pixel to picture pixel, any turn, within the picture."""
    angle = rng.uniform(0, 2 * np.pi)
    c, s = np.cos(angle) / scale, np.sin(angle) / scale
    reach = 0.5 * np.hypot(*shape) / scale
    span = [max(n / 2 - reach, 0.0) for n in size]
    x, y = (size[i] / 2 + rng.uniform(-0.98, 0.98) * span[i] for i in (1, 0))
    tilt = rng.uniform(-0.02, 0.02, 2) / np.array(shape[::-1])
    to_middle = np.array([[1, 0, -shape[1] / 2], [0, 1, -shape[0] / 2], [0, 0, 1]])
    turned = np.array([[c, -s, 0], [s, c, 0], [*tilt, 1]])
    return np.array([[1, 0, x], [0, 1, y], [0, 0, 1]]) @ turned @ to_middle


def _printed(picture, truth, shape, scale, rng):
    """Linear light of the photograph, and the least error of its place in picture pixels."""
    linear = picture_of(picture).linear
    light = linear[picture].astype(np.float32)
    blur_px = rng.uniform(0.4, 0.9)
    sigma = max(blur_px, 0.6 / scale)
    light = cv2.GaussianBlur(light, (0, 0), sigma)
    flags = cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP
    seen = cv2.warpPerspective(
        light, truth, shape[::-1], flags=flags, borderMode=cv2.BORDER_CONSTANT, borderValue=(1,) * 3
    )
    seen = np.clip(BLACK + (1 - BLACK) * seen, BLACK, 1)
    tones = seen
    dot_px = max(rng.uniform(0.08, 0.3) * scale, 0.5)
    if dot_px > 1.0:
        # Each cell of a dot's size is ink or paper, by chance: scattered dots of the right share.
        rows, columns = (int(np.ceil(n / dot_px)) + 1 for n in shape)
        chance = rng.random((rows, columns, 3), dtype=np.float32)
        y, x = ((np.arange(n) / dot_px).astype(int) for n in shape)
        inked = chance[y[:, None], x[None, :]] > (seen - BLACK) / (1 - BLACK)
        seen = np.where(inked, BLACK, 1.0).astype(np.float32)
        seen = cv2.GaussianBlur(seen, (0, 0), rng.uniform(0.7, 1.2))
        ink = (tones - BLACK) * (1 - tones)
        dots_density = dot_px**2 * np.maximum(ink, LEAST_VARIANCE)
    else:
        grain = rng.standard_normal(seen.shape).astype(np.float32)
        spread = 0.04 * np.sqrt(np.clip(seen * (1 - seen), 0, 1))
        seen = seen + spread * grain
        dots_density = spread**2
    v, u = np.mgrid[-0.5 : 0.5 : shape[0] * 1j, -0.5 : 0.5 : shape[1] * 1j].astype(np.float32)
    slope = rng.uniform(-0.3, 0.3, 2)
    lamp = (1 + slope[0] * u + slope[1] * v) * (1 - rng.uniform(0, 0.25) * (u * u + v * v))
    cast = 1 + rng.uniform(-0.08, 0.08, 3)
    lit = 0.75 * seen * lamp[..., None] * cast
    noise = rng.standard_normal(lit.shape).astype(np.float32)
    sensor = rng.uniform(0.003, 0.015)
    density = dots_density + (sensor / 0.75) ** 2
    least_px = least_error_px((1 - BLACK) * light, truth, shape, density)
    return lit + sensor * noise, least_px


def look_for(taken, picture):
    """Find a photograph in a picture, and hold it against its truth."""
    start = time.process_time()
    try:
        homography = register(taken.capture, picture=picture).homography
    except NotFitError as error:
        return Outcome(taken, False, np.nan, str(error), time.process_time() - start)
    rows, columns = taken.capture.shape
    x, y = np.meshgrid(np.linspace(0, columns - 1, 7), np.linspace(0, rows - 1, 7))
    points = np.column_stack([x.ravel(), y.ravel()])
    apart = map_points(homography, points) - map_points(taken.homography, points)
    error_px = float(np.sqrt(np.mean(np.sum(apart**2, axis=1))))
    return Outcome(taken, True, error_px, "", time.process_time() - start)


def another(taken):
    """Name of a picture that does not hold what was photographed."""
    if taken.picture.startswith("mosaic"):
        return "mosaic 1" if taken.picture == "mosaic 2" else "mosaic 2"
    return "mosaic 2" if taken.picture in MOSAICS[0] else "mosaic 1"


def study(numbers, sent=None):
    """Outcomes in the pictures sent, and in others."""
    sent = sent or pictures()
    right, wrong = [], []
    for number in numbers:
        taken = photograph(number, sent)
        right.append(look_for(taken, sent[taken.picture]))
        wrong.append(look_for(taken, sent[another(taken)]))
        print(line(right[-1], wrong[-1]), flush=True)
    return right, wrong


def line(right, wrong):
    """One row of the table."""
    t = right.taken
    rows, columns = t.capture.shape
    found = f"{right.error_px:.3f} px" if right.found else right.reason[:70]
    bound = f"bound {t.least_error_px:.3f}"
    other = "FOUND" if wrong.found else "not found"
    return (
        f"{t.number:3d} {t.picture:20s} {columns:4d} x {rows:4d} scale {t.scale:5.2f} "
        f"share {100 * t.share:5.1f} % {found:10s} {bound} other picture {other}  "
        f"{right.seconds:.1f} + {wrong.seconds:.1f} s"
    )


def findable(outcome):
    """Whether the frame shows enough: a search at twice the bound is within a tenth of a pixel."""
    return outcome.taken.least_error_px < 0.5 * ASKED_PX


def summary(right, wrong):
    """What the study says, in lines."""
    errors = np.array([o.error_px for o in right if o.found])
    rms_px = np.sqrt(np.mean(errors**2))
    good = np.sum(errors < ASKED_PX)
    enough = [o for o in right if findable(o)]
    found = sum(o.found for o in enough)
    good_enough = sum(o.error_px < ASKED_PX for o in enough)
    return [
        f"{len(errors)} of {len(right)} found, rms {rms_px:.3f} px, {good} within {ASKED_PX} px",
        f"{len(enough)} show enough: {found} of them found, {good_enough} within {ASKED_PX} px",
        f"{sum(o.found for o in wrong)} of {len(wrong)} found in a picture that is another",
    ]


if __name__ == "__main__":
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    print(*summary(*study(range(count))), sep="\n")
