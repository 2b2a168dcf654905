"""Photographs of prints found in the pictures that were sent; see `picture_study`."""

import numpy as np
import pytest

from . import soft_study
from .picture_bound import least_error_px
from .picture_study import (
    ASKED_PX,
    another,
    findable,
    look_for,
    photograph,
    pictures,
    study,
    summary,
)

EVERYDAY = (3, 4)
"""A frame of 0.9 % of a mosaic of 12 megapixels, and one of a picture of 0.1."""


@pytest.fixture(scope="module")
def sent():
    return pictures()


@pytest.mark.parametrize("number", EVERYDAY)
def test_found_to_a_tenth_of_a_picture_pixel(sent, number):
    taken = photograph(number, sent)
    assert look_for(taken, sent[taken.picture]).error_px < 0.1


def test_not_found_in_another_picture(sent):
    """A small frame with little in it, in which likenesses come by chance."""
    taken = photograph(0, sent)
    outcome = look_for(taken, sent[another(taken)])
    assert not outcome.found
    assert "not found in the picture" in outcome.reason


def test_bound_of_a_frame_of_plain_slopes():
    """Closed form: with weights alike, the error of a shift alone is sd / (slope sqrt(pixels)).

    Of the bound's eight numbers the two shifts are mixed with the two bends of the frame, u u and
    u v; over a square of even weight the mean square of the place comes to 8 of the variance of
    a shift that is known to be one, the number of unknowns, where the grid is that of the pixels.
    """
    v, u = np.mgrid[0:400, 0:400].astype(np.float32)
    light = np.stack([0.01 * u, 0.01 * v], axis=2)
    frame = (7, 7)
    homography = np.array([[1.0, 0, 200], [0, 1, 200], [0, 0, 1]])
    density = np.full((*frame, 2), 0.02**2)
    shift_px = 0.02 / (0.01 * np.sqrt(49))
    assert least_error_px(light, homography, frame, density) == pytest.approx(
        np.sqrt(8) * shift_px, rel=1e-3
    )


@pytest.mark.slow
def test_study_of_sixty(sent, table_row):
    """Of the frames that show enough 95 % are found to a tenth of a picture pixel.

    What is found of the others is not misplaced, which would be by whole pixels: half of one at
    most. None is found in another picture.
    """
    right, wrong = study(range(60), sent)
    for line in summary(right, wrong):
        table_row("own pictures found (simulated)", line)
    enough = [o for o in right if findable(o)]
    assert len(enough) >= 40
    assert np.mean([o.found and o.error_px < ASKED_PX for o in enough]) >= 0.95
    assert all(o.error_px < 0.5 for o in right if o.found)
    assert not any(o.found for o in wrong)


@pytest.mark.slow
def test_study_of_soft_pictures(table_row):
    """Of the frames that can be placed 95 % are found; none where it does not lie."""
    outcomes = soft_study.study(range(60))
    for line in soft_study.summary(outcomes):
        table_row("soft own pictures found (simulated)", line)
    enough = [right for soft, right, *_ in outcomes if soft.least_error_px <= soft_study.PLACED_PX]
    assert len(enough) >= 20
    assert np.mean([right.found for right in enough]) >= 0.95
    assert not any(o.found for _, _, *wrong in outcomes for o in wrong)
    assert all(right.error_px < soft_study.MOST_ERROR_PX for right in enough if right.found)
