"""Two modes that differ at faint detail alone, and two in colour detail alone: simulated, ranked.

Both are made of prints of a printer of continuous tone: grain added to the light of a print, or the
differences between its channels blurred while its luminance stays.
"""

import sys
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from printers import PRINTERS
from printers.cameras import Camera, photograph
from printers.printed import MARGIN_MM

from dotloupe import Patch, load_capture, measure_capture, rank
from dotloupe.number import CONTRAST_CRITERIA

pytestmark = pytest.mark.slow
LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
PRINTS = 5


def grainier(printed, seed):
    """Grain of 50 um and 25 % of the light on the fields of gratings; marks and code stay."""
    rng = np.random.default_rng([seed, 5])
    noise = rng.standard_normal(printed.levels.shape[1:]).astype(np.float32)
    noise = cv2.GaussianBlur(noise, (0, 0), 0.021 * printed.pixels_per_mm)
    noise *= 0.25 / noise.std()
    first, last = (round((MARGIN_MM + mm) * printed.pixels_per_mm) for mm in (3.6, 15.9))
    noise[:first], noise[last:] = 0, 0
    light = printed.levels * (1 + noise)
    return replace(printed, levels=np.clip(light, 0, 65535).astype(np.uint16))


def blurred_in_colour(printed, _):
    """Differences from the luminance through a Gaussian of 90 um."""
    light = np.moveaxis(printed.levels.astype(np.float32), 0, -1)
    grey = (light @ LUMINANCE)[..., None]
    colour = cv2.GaussianBlur(light - grey, (0, 0), 0.09 * printed.pixels_per_mm)
    mixed = np.clip(np.moveaxis(grey + colour, -1, 0), 0, 65535)
    return replace(printed, levels=mixed.astype(np.uint16))


@pytest.fixture(scope="module")
def modes(tmp_path_factory):
    """Measurements of the prints of each mode."""
    found = {"plain": [], "grainier": [], "blurred": []}
    changes = {"plain": lambda p, _: p, "grainier": grainier, "blurred": blurred_in_colour}
    for n, (name, change) in enumerate(changes.items()):
        for k in range(PRINTS):
            run = PRINTS * n + k
            printed = PRINTERS["dye_300"](Patch(600, run=run, kind="contrast"), run)
            shot = photograph(change(printed, run), Camera(pixels_per_mm=60.0), seed=run)
            path = shot.write(tmp_path_factory.mktemp(name) / f"{name}{k}.tif")
            found[name].append(measure_capture(load_capture(path)))
    return found


def limits(measurements, modulation):
    """Mean border of greys at a modulation, lp/mm."""
    return np.mean(
        [
            m.survival_of(modulation).limit or 0.7
            for one in measurements
            for m in one.contrast
            if not m.ink
        ]
    )


def ahead(ranking, name):
    """Whether the first setting is ahead of the other, beyond chance."""
    return any(p.distinguishable and p.setting == "plain" for p in ranking.criteria[name].pairs)


def test_alike_at_full_contrast_and_apart_at_faint(modes):
    full = [limits(modes[name], 0.8) for name in ("plain", "grainier")]
    faint = [limits(modes[name], 0.1) for name in ("plain", "grainier")]
    print("\nlp/mm at 80 %: {:.2f} and {:.2f}; at 10 %: {:.2f} and {:.2f}".format(*full, *faint))
    assert full[1] == pytest.approx(full[0], rel=0.1)
    assert faint[1] < 0.8 * faint[0]
    ranking = rank({name: modes[name] for name in ("plain", "grainier")})
    told = [name for name in CONTRAST_CRITERIA if "faint" in name and ahead(ranking, name)]
    print(f"told apart: {', '.join(told)}")
    assert len(told) >= 4


def test_apart_in_colour_detail_alone(modes):
    ranking = rank({name: modes[name] for name in ("plain", "blurred")})
    told = {
        name
        for name in CONTRAST_CRITERIA
        if any(p.distinguishable for p in ranking.criteria[name].pairs)
    }
    colour = {f"colour_detail_{axis}" for axis in ("x", "y")}
    for name in sorted(colour):
        places = ranking.criteria[name].places
        print(f"\n{name}: {[(p.setting, round(p.value, 2)) for p in places]}")
    assert all(ahead(ranking, name) for name in colour)
    assert told == colour
