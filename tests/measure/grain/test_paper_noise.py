"""Grain of paper and noise of the camera, and pairs of shots that are none."""

import numpy as np
import pytest

from dotloupe.errors import RegionError
from dotloupe.measure.grain.cautions import (
    CameraNoiseIncluded,
    MostlyPaper,
    PaperFromOneShot,
    PaperIncluded,
)
from dotloupe.measure.grain.paper_noise import camera_noise_level
from dotloupe.measure.grain.shot_pair import pair_shots
from dotloupe.measure.grain.tint_grain import grain

NOISE = 0.5 + 0.02 * np.random.default_rng(0).standard_normal((128, 128))


def test_camera_noise_of_a_tint_lies_between_photons_and_electronics():
    """At 0.25 of the paper's light photons leave a quarter of its noise, electronics all of it."""
    least, most = 0.25, 1.0
    assert camera_noise_level(1.0, 0.5, 0.25) == (0.5, pytest.approx((most - least) / 12**0.5 / 2))
    assert camera_noise_level(1.0, 3.0, 0.25) == (least, pytest.approx((most - least) / 12**0.5))


def test_grain_that_is_the_papers_is_said_to_be():
    rng = np.random.default_rng(2)
    paper = tuple(0.98 + 0.02 * rng.standard_normal((96, 96)) for _ in range(1)) * 2
    tint = 0.5 + 0.0105 * rng.standard_normal((96, 96))
    said = grain(tint, 40.0, second_shot=tint, paper=paper).cautions
    assert any(isinstance(caution, MostlyPaper) for caution in said)
    assert PaperFromOneShot() not in said


def test_the_share_of_the_paper_is_that_of_the_visible_power():
    """White noise: squared relative deviations, each known to a tenth from this many values."""
    rng = np.random.default_rng(2)
    paper = (0.98 + 0.016 * rng.standard_normal((96, 96)),) * 2
    tint = 0.5 + 0.0105 * rng.standard_normal((96, 96))
    alone, less = (grain(tint, 40.0, second_shot=tint, paper=blank) for blank in (None, paper))
    (share,) = (caution.share for caution in less.cautions if isinstance(caution, MostlyPaper))
    assert share == pytest.approx((0.016 / 0.98) ** 2 / (0.0105 / 0.5) ** 2, rel=0.2)
    assert share == pytest.approx(1 - (less.visual_graininess / alone.visual_graininess) ** 2)


@pytest.mark.parametrize("distance", [0.0, -1.0, np.inf, np.nan])
def test_a_print_is_looked_at_from_somewhere(distance):
    with pytest.raises(RegionError) as caught:
        grain(NOISE, 40.0, viewing_distance_mm=distance)
    assert str(caught.value) == f"the viewing distance must be above zero, not {distance} mm"


@pytest.mark.parametrize(("factor", "word"), [(1.3, "30 % lighter"), (0.7, "30 % darker")])
def test_shots_of_two_tints_are_no_pair(factor, word):
    with pytest.raises(RegionError) as caught:
        pair_shots(NOISE, factor * NOISE, 40.0)
    assert str(caught.value) == (
        f"the second shot shows a tint {word} than the first: another tint, or another light"
    )


def noise(seed, size=128):
    return 0.01 * np.random.default_rng(seed).standard_normal((size, size))


def test_the_camera_is_named_where_neither_a_second_shot_nor_paper_tells_of_it():
    """Each takes the camera's noise out: a second shot, and blank paper of the same shot."""
    light = 0.5 + noise(1, 64)
    alone = grain(light, 40.0)
    with_paper = grain(light, 40.0, paper=0.98 + 0.3 * noise(2, 64))
    with_second = grain(light, 40.0, second_shot=light + 0.1 * noise(3, 64))
    named = [
        any(isinstance(c, CameraNoiseIncluded) for c in g.cautions)
        for g in (alone, with_paper, with_second)
    ]
    assert named == [True, False, False]
    assert [PaperIncluded() in g.cautions for g in (alone, with_paper, with_second)] == [
        True,
        False,
        True,
    ]
