"""The printed sheet: size, tone, determinism, and the facts of the trade."""

import numpy as np
import pytest

from dotloupe import simulate
from dotloupe.errors import InputError
from dotloupe.patch.srgb import srgb_decode


def flat(level: tuple[int, int, int] | int, size_mm: float, ppi: float = 720.0) -> np.ndarray:
    n = round(size_mm * ppi / 25.4)
    return np.full((n, n, 3), level, dtype=np.uint8)


def test_size_in_millimetres() -> None:
    picture = np.full((150, 300, 3), 0, dtype=np.uint8)
    printed = simulate.print_picture(picture, 600.0, margin_mm=1.0)
    assert printed.width_mm == pytest.approx(12.7)
    assert printed.height_mm == pytest.approx(6.35)
    assert printed.reflectance.shape == (round(8.35 * 160), round(14.7 * 160), 3)
    # Centred to a third of a dot; wider, as dots hang over, by less than a dot on each side.
    row = printed.window((-1.0, 2.0, 13.7, 5.0)).mean(axis=0)
    inside = np.flatnonzero(row < 0.5)
    left_mm, right_mm = inside[0] / 160.0 - 1.0, (inside[-1] + 1) / 160.0 - 1.0
    assert 0.5 * (left_mm + right_mm) == pytest.approx(6.35, abs=0.010)
    assert 12.70 <= right_mm - left_mm <= 12.756


def test_same_seed_repeats_and_another_does_not() -> None:
    picture = flat(120, 2.0)
    first, again, other = (
        simulate.print_picture(picture, 720.0, seed=s).reflectance for s in (4, 4, 5)
    )
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_large_area_prints_what_was_sent() -> None:
    levels = np.array([0, 60, 128, 190, 235, 255], dtype=np.uint8)
    picture = np.repeat(np.kron(levels, np.ones((85, 85), dtype=np.uint8))[..., None], 3, axis=2)
    printed = simulate.print_picture(picture, 720.0)
    got = np.array([printed.window((3 * n + 0.5, 0.5, 3 * n + 2.5, 2.5)).mean() for n in range(6)])
    sent = srgb_decode(levels / 255.0)
    # 0.012 is about one L* in the middle: a printer's linearisation holds no better.
    assert got == pytest.approx(got[0] + (1.0 - got[0]) * sent, abs=0.012)
    assert 0.005 < got[0] < 0.02


def test_refuses_what_is_no_picture() -> None:
    with pytest.raises(InputError, match="uint8 or uint16"):
        simulate.print_picture(np.zeros((10, 10)), 720.0)
    with pytest.raises(InputError, match="positive"):
        simulate.print_picture(flat(0, 1.0), 0.0)
