"""Prints laid on each other from kept pictures: what counts, what is left out, what is said."""

import json
from types import SimpleNamespace

import numpy as np
import pytest
from compare.invented import visibility_between

from dotloupe.compare.ranking.ranking import rank
from dotloupe.compare.visibility import print_images as seen_prints
from dotloupe.compare.visibility.picture_difference import picture_visibility
from dotloupe.compare.visibility.print_images import print_visibility
from dotloupe.measurement import PatchMeasurement
from dotloupe.number import Number
from dotloupe.patch.patch import Patch
from dotloupe.registration.patch_image import SmallPicture
from dotloupe.report.json_values import ranking_json
from dotloupe.report.model import ranking_model
from dotloupe.report.text.terminal import ranking_table
from dotloupe.report.text.visibility import picture_sentence

PER_MM = 10.0


def shot(setting, number, rng, *, tone=1.0, run=0, mark_tone=1.0, print_id=None):
    """One invented photograph of a print: an even tone with grain, and its marks."""
    patch = Patch(600, run=run)
    width, height = (round(s * PER_MM) for s in patch.size_mm)
    light = 0.5 * tone * (1 + 0.02 * rng.standard_normal((height, width)))
    for region in patch.regions.values():
        if region.kind in ("mark", "code", "text"):
            (left, top), _, (right, bottom), _ = region.corners_mm
            rows = slice(round(top * PER_MM), round(bottom * PER_MM))
            light[rows, round(left * PER_MM) : round(right * PER_MM)] *= mark_tone
    picture = np.repeat(light[..., None], 3, axis=2).astype(np.float16)
    grain = 0.5 * (1 + 0.01 * rng.standard_normal())
    name = f"{setting}{number}"
    return PatchMeasurement(
        name,
        name,
        print_id or str(number),
        run,
        600.0,
        True,
        (),
        (),
        {"grain": Number(grain, 0.98 * grain, 1.02 * grain, "L* rms")},
        registration=SimpleNamespace(patch=patch, pixels_per_mm=80.0),
        small_picture=SmallPicture(picture, PER_MM),
    )


def setting(name, seed, count=3, **how):
    rng = np.random.default_rng(seed)
    return [shot(name, i, rng, run=i, **how) for i in range(count)]


def test_a_tone_that_every_print_has_is_seen_from_afar():
    # 0.5 against 0.47: L* 76.1 and 74.2, which no distance takes away
    found = print_visibility(setting("a", 1), setting("b", 2, tone=0.94))
    assert found.interval[0] > 2000
    assert found.difference[-1] == pytest.approx(1.9, abs=0.3)


def test_marks_code_and_lettering_do_not_count():
    settings = setting("a", 1), setting("b", 2, mark_tone=0.2)
    # marks as different as paper and ink
    assert print_visibility(*settings).distance_mm == 0
    whole = ([m.small_picture.reflectance for m in shots] for shots in settings)
    assert picture_visibility(*whole, PER_MM).difference[0] > 20


def test_photographs_of_one_print_are_no_repeats():
    rng = np.random.default_rng(3)
    one = [shot("a", i, rng, print_id="p") for i in range(3)]
    other = [shot("b", i, rng, print_id="p") for i in range(3)]
    assert not print_visibility(one, other).repeats_known


def test_no_picture_no_answer():
    bare = [m.bare() for m in setting("a", 1)]
    assert print_visibility(bare, setting("b", 2)) is None


def test_the_same_prints_are_looked_at_once_and_others_anew(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    looked = []

    def looking(*pictures, **how):
        looked.append(pictures)
        return picture_visibility(*pictures, **how)

    monkeypatch.setattr(seen_prints, "picture_visibility", looking)
    first = print_visibility(setting("a", 1), setting("b", 2, tone=0.94))
    again = print_visibility(setting("a", 1), setting("b", 2, tone=0.94))
    assert len(looked) == 1
    for name, value in vars(first).items():
        assert np.array_equal(getattr(again, name), value), name
    # one print less, and one value of one pixel another
    print_visibility(setting("a", 1)[:2], setting("b", 2, tone=0.94))
    touched = setting("a", 1)
    touched[0].small_picture.reflectance[90, 150, 1] += 0.1
    print_visibility(touched, setting("b", 2, tone=0.94))
    assert len(looked) == 3


def test_words_on_table_and_json():
    ranking = rank({"pale": setting("pale", 1), "dark": setting("dark", 2, tone=0.9)})
    found = visibility_between(ranking, "pale", "dark")
    said = picture_sentence(found.picture, 350.0)
    assert "visibly differ at 35 cm" in said
    assert said in " ".join(ranking_table(ranking_model(ranking)).split())
    written = json.loads(json.dumps(ranking_json(ranking), allow_nan=False))
    (pair,) = written["seen"]
    assert pair["picture"]["distance_mm"] == found.picture.distance_mm
    assert pair["picture_sentence"] == picture_sentence(found.picture, 350.0)
    assert pair["by"][0]["criterion"] == "grain"


def test_words_where_only_a_magnifier_helps_and_where_repeats_are_missing():
    alike = rank({"a": setting("a", 1), "b": setting("b", 2)})
    assert "magnifier" in picture_sentence(alike.visibility[0].picture, 350.0)
    single = rank({"a": setting("a", 1, count=1), "b": setting("b", 2, count=1)})
    assert "takes three prints" in picture_sentence(single.visibility[0].picture, 350.0)
