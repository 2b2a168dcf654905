"""The contrast patch against closed forms, and against its own claims of place and size."""

from collections import Counter

import numpy as np
import pytest

from dotloupe import Patch
from dotloupe.patch import srgb_decode
from dotloupe.patch.contrast_cells import COLOUR_INKS, LUMINANCE, channel_swings
from dotloupe.patch.corner_marks import PatchCode, code_text, parse_code
from dotloupe.units import MM_PER_INCH


def gratings(patch):
    return [r for r in patch.regions.values() if r.kind == "grating"]


def swing(picture, region, pitch_mm):
    """In-phase amplitude by projection on the sine over the pixels that lie wholly inside."""
    axis = "xy".index(region.direction)
    (left, top), _, (right, bottom), _ = (np.array(c) / pitch_mm for c in region.corners_mm)
    box = picture[int(np.ceil(top)) : int(bottom), int(np.ceil(left)) : int(right)]
    profile = box.mean(axis=axis)
    first = int(np.ceil((left, top)[axis]))
    place = (first + 0.5 + np.arange(len(profile))) * pitch_mm - region.centre_mm[axis]
    turn = 2 * np.pi * region.frequency * place
    design = np.stack([np.ones_like(turn), np.sin(turn), np.cos(turn)], axis=1)
    return np.linalg.lstsq(design, profile, rcond=None)[0][1]


@pytest.mark.parametrize("ppi", [360, 600])
def test_gratings_are_drawn_at_their_swing(ppi, outside_check):
    """A sine through a square pixel keeps sinc(f / ppi): the box's Fourier transform; derived."""
    patch, pitch = Patch(ppi, kind="contrast"), MM_PER_INCH / ppi
    drawn = patch.reflectance()
    carried = [r for r in gratings(patch) if r.frequency * pitch < 0.45]
    own = [COLOUR_INKS.get(r.ink, 1) for r in carried]
    found = [swing(drawn[..., c], r, pitch) for r, c in zip(carried, own, strict=True)]
    kept = [
        channel_swings(r)[c] * np.sinc(r.frequency * pitch)
        for r, c in zip(carried, own, strict=True)
    ]
    claim = f"amplitude of gratings drawn at {ppi} ppi"
    outside_check(claim, "sine through a square pixel (closed form)", kept, found, rel=1e-6)


def test_faint_swings_outlive_the_rounding_to_8_bits():
    """Rounded, the darkest and faintest would be off by up to 18 %.

    6 % is four times the chance of one cell: 600 pixels of 0.4 levels rms against 1.7 levels.
    """
    patch, pitch = Patch(600, kind="contrast"), MM_PER_INCH / 600
    sent = srgb_decode(patch.draw() / 255.0)[..., 1]
    for r in gratings(patch):
        if r.ink:
            continue
        kept = channel_swings(r)[1] * np.sinc(r.frequency * pitch)
        assert swing(sent, r, pitch) == pytest.approx(kept, rel=0.06), r.name


def test_every_grating_has_two_periods_and_a_square_millimetre():
    for r in gratings(Patch(600, kind="contrast")):
        length = r.width_mm if r.direction == "x" else r.height_mm
        assert r.frequency * length >= 2, r.name
        assert r.width_mm * r.height_mm >= 1, r.name


def test_every_grating_has_its_mirror_image():
    """Greys mirror each other about the middle of their fields, colours about that of the strip."""
    by_place = {}
    for r in gratings(Patch(600, kind="contrast")):
        key = (r.tone, r.ink, r.direction, r.frequency, r.modulation)
        by_place.setdefault(key, []).append(np.array(r.centre_mm))
    assert {len(places) for places in by_place.values()} == {2}
    middles = {key[0] == "colour": set() for key in by_place}
    for key, places in by_place.items():
        middles[key[0] == "colour"].add(tuple(np.round(np.mean(places, axis=0), 6)))
    assert all(len(found) == 1 for found in middles.values())
    assert {m[0] for found in middles.values() for m in found} == {15.0}


def test_the_grid_is_the_same_in_all_tones_and_directions():
    counts = Counter((r.tone, r.direction) for r in gratings(Patch(600, kind="contrast")))
    greys = {n for (tone, _), n in counts.items() if tone != "colour"}
    assert greys == {2 * (4 + 7 + 4 + 3)}
    assert {n for (tone, _), n in counts.items() if tone == "colour"} == {2 * 2 * 4}


def test_colour_gratings_keep_the_luminance():
    for r in gratings(Patch(600, kind="contrast")):
        if r.ink:
            assert np.dot(channel_swings(r), LUMINANCE) == pytest.approx(0, abs=1e-12)
            assert max(map(abs, channel_swings(r))) == pytest.approx(0.25 * 0.4)


def test_code_of_a_contrast_patch_reads_back():
    code = PatchCode(2, "contrast", 7, 600)
    assert parse_code(code_text(code)) == code
