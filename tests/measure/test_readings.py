"""Edges, bars and texture of one Gaussian blur read alike, and part where one is changed."""

from types import SimpleNamespace

import numpy as np
import pytest

from dotloupe.measure.readings import bars_reading, edges_reading, parting, texture_reading

MTF50 = 5.0
FREQUENCY = np.arange(0, 20.25, 0.25)
GROUPS = 2.0 * 2 ** (np.arange(20) / 6)
CAMERA = (FREQUENCY, np.exp(-((FREQUENCY / 16) ** 2)))


def gaussian(f, camera=False):
    kept = 0.5 ** ((np.asarray(f) / MTF50) ** 2)
    return kept * np.exp(-((np.asarray(f) / 16) ** 2)) if camera else kept


def square_wave_contrast(f, camera=False):
    """4/pi [M(f) - M(3f)/3 + M(5f)/5 - ...], the series that Coltman's inverts (from memory)."""
    odd = np.arange(1, 40, 2)
    signs = np.where(odd % 4 == 1, 1, -1) / odd
    return 4 / np.pi * (signs[:, None] * gaussian(np.multiply.outer(odd, f), camera)).sum(axis=0)


def three(camera=False, **gains):
    """Readings of a print behind a camera or without one, each raised by a gain."""
    of = {name: 1 + gains.get(name, 0.0) for name in ("edges", "bars", "texture")}
    mtf = of["edges"] * gaussian(FREQUENCY)
    contrast = of["bars"] * square_wave_contrast(GROUPS, camera)
    heard = of["texture"] * gaussian(FREQUENCY, camera)
    band = 0.02
    lens = CAMERA if camera else None
    return {
        "edges": edges_reading(
            SimpleNamespace(frequency=FREQUENCY, mtf=mtf, mtf_low=mtf - band, mtf_high=mtf + band)
        ),
        "bars": bars_reading(
            SimpleNamespace(
                frequency=GROUPS,
                contrast=contrast,
                contrast_low=contrast - band,
                contrast_high=contrast + band,
                counted=contrast > 0.1,
            ),
            lens,
        ),
        "texture": texture_reading(
            SimpleNamespace(
                frequency=FREQUENCY[4:],
                transfer=heard[4:],
                transfer_low=heard[4:] - band,
                transfer_high=heard[4:] + band,
                kept=9.0,
            ),
            lens,
        ),
    }


@pytest.mark.parametrize("camera", [False, True])
def test_one_blur_gives_one_modulation_by_every_reading(camera):
    """0.01: contrast between groups a sixth of an octave apart is interpolated linearly."""
    for reading in three(camera).values():
        assert np.abs(reading.modulation - gaussian(reading.frequency)).max() < 0.01
    assert not any(parting(three(camera)).parted)


def test_bars_are_kept_as_far_as_they_are_resolved():
    kept = three()["bars"].frequency
    assert kept[-1] < GROUPS[-1]
    assert square_wave_contrast(kept).min() > 0.1


@pytest.mark.parametrize(
    ("gains", "first", "last", "parted"),
    [
        ({"edges": 0.2}, "edges", None, (True, False)),
        ({"bars": 0.2}, "bars", None, (True, False)),
        ({"texture": -0.2}, None, "texture", (False, True)),
        ({"edges": 0.2, "texture": -0.2}, "edges", "texture", (True, True)),
        ({"texture": -0.03}, None, "texture", (False, False)),
    ],
)
def test_readings_part_where_one_keeps_more_or_less(gains, first, last, parted):
    """A fifth is over chance (0.02 each) and a twentieth of the modulation; 3 % is not."""
    found = parting(three(**gains))
    assert first in (None, found.order[0])
    assert last in (None, found.order[-1])
    assert found.parted == parted


def test_readings_that_share_no_frequency_are_not_compared():
    assert parting({"edges": three()["edges"]}) is None
    apart = three()
    texture = apart["texture"]
    far = texture.frequency > 8.5
    apart["texture"] = type(texture)(
        *(part[far] for part in (texture.frequency, texture.modulation, texture.low, texture.high))
    )
    assert parting(apart) is None
