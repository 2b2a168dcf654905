"""Blocks of a cross spectrum."""

import pytest

from dotloupe.measure.texture.cross_spectrum import _starts


@pytest.mark.parametrize(
    ("length", "side", "starts"),
    [
        # blocks of 100 half overlapped fit seven times into 400, and once into less than 150
        (400, 100, [0, 50, 100, 150, 200, 250, 300]),
        (149, 100, [0]),
        (150, 100, [0, 50]),
        (100, 100, [0]),
        # 42 to spare: evenly spread
        (192, 100, [0, 92]),
    ],
)
def test_blocks_are_half_overlapped_and_reach_both_ends(length, side, starts):
    assert _starts(length, side).tolist() == starts
