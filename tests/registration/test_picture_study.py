"""Photographs of prints found in the pictures that were sent; see `picture_study`."""

import numpy as np
import pytest

from .picture_study import another, look_for, photograph, pictures, study, summary

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


@pytest.mark.slow
def test_study_of_sixty(sent, table_row):
    """95 % found to a tenth of a picture pixel, none found in another picture."""
    right, wrong = study(range(60), sent)
    table_row("own pictures found (simulated)", summary(right, wrong))
    errors = np.array([o.error_px for o in right])
    assert np.mean(np.nan_to_num(errors, nan=np.inf) < 0.1) >= 0.95
    assert not any(o.found for o in wrong)
