"""What the search for an own picture refuses, and which homographies a camera may have."""

import numpy as np
import pytest

from dotloupe.errors import InputError, NotFitError
from dotloupe.registration.picture.search import (
    PictureMatch,
    _not_found,
    locate_picture,
)
from dotloupe.registration.picture.trial import finest_detail_px, plausible

RNG = np.random.default_rng(0)
NOISE = RNG.uniform(0.2, 0.8, (64, 80)).astype(np.float32)
FLAT = np.full((64, 80), 0.5, np.float32)
HALF = np.array([[0.5, 0, 0], [0, 0.5, 0], [0, 0, 1.0]])


@pytest.mark.parametrize(
    ("frame", "sent", "reason"),
    [
        (FLAT, NOISE, "The photograph is flat; there is nothing to hold on to."),
        (NOISE, FLAT, "The picture is flat; there is nothing to hold on to."),
    ],
)
def test_a_flat_picture_is_found_nowhere(frame, sent, reason):
    match = locate_picture(frame, sent)
    assert not match
    assert match.reason == reason
    with pytest.raises(NotFitError) as caught:
        _ = match.homography
    assert str(caught.value) == reason


@pytest.mark.parametrize(
    ("frame", "says"),
    [
        (
            NOISE[:31],
            "the photograph must be of at least 32 x 32 pixels in one channel, not (31, 80)",
        ),
        (
            np.where(NOISE > 0.79, np.nan, NOISE),
            "the photograph holds values that are not finite; crop or fill them",
        ),
    ],
)
def test_photographs_that_cannot_be_looked_for(frame, says):
    with pytest.raises(InputError) as caught:
        locate_picture(frame, NOISE)
    assert str(caught.value) == says


def test_nothing_alike_is_said_so():
    assert _not_found(None) == PictureMatch(
        False,
        "Nothing in the picture resembles the photograph; check that it is the picture sent and "
        "photograph a part with more detail.",
    )


@pytest.mark.parametrize(
    ("homography", "seen"),
    [
        (HALF, True),
        # mirrored
        (HALF * [[-1], [1], [1]], False),
        # 2 pixels of the photograph a pixel of the picture is asked for within 1 and 10
        (HALF * [[4.2], [4.2], [1]], False),
        (HALF * [[0.15], [0.15], [1]], False),
        # one direction four times as large as the other; a photograph has three at most
        (HALF * [[0.5], [2], [1]], False),
        # the horizon runs through the frame
        (np.add(HALF, [[0, 0, 0], [0, 0, 0], [-0.02, 0, 0]]), False),
    ],
)
def test_what_a_camera_may_see(homography, seen):
    assert plausible(homography, (100, 100), (1.0, 10.0)) is seen


@pytest.mark.parametrize("enlarged", [1, 2, 4])
def test_an_enlarged_picture_has_finer_detail_as_much_larger(enlarged):
    """White slopes fill the sampling: by the mean square over a disc, 1 pixel; enlarged, more."""
    v, u = np.fft.fftfreq(256)[:, None], np.fft.rfftfreq(256)[None, :]
    frequency = np.hypot(u, v)
    noise = np.fft.rfft2(np.random.default_rng(0).standard_normal((256, 256)))
    inside = (frequency > 0) & (frequency < 0.5 / enlarged)
    sent = np.fft.irfft2(np.where(inside, noise / np.maximum(frequency, 1e-9), 0))
    found = finest_detail_px(sent, np.eye(3), sent.shape)
    # a window of 256 pixels spreads each frequency by 1 / 128
    assert found == pytest.approx(enlarged, rel=0.05)
