"""Places of a framed picture where settings differ most to the eye, planted and found again."""

import numpy as np
import pytest

from dotloupe.compare.visibility.difference_places import MOST_PLACES, difference_places
from dotloupe.measurement import PictureMeasurement
from dotloupe.patch.patch import Patch
from dotloupe.registration.patch_image import SMALL_PER_MM, SmallPicture
from dotloupe.registration.registration import PlacedFrame, Registration

DISTANCE_MM = 350.0
GREY = 0.4
FRAME = Patch(360, 1, "simulated", "picture", (5, 7))


def print_of(name, light, frame=FRAME):
    """A measurement that shows this light in its frame."""
    small = SmallPicture(light.astype(np.float16), SMALL_PER_MM)
    placed = Registration(np.eye(3), 80.0, 1.0, 0.1, frame=PlacedFrame(frame, np.eye(3)))
    given = (f"{name}.tif", name, name, frame.run, 360.0, True, (), (), {})
    return PictureMeasurement(*given, registration=placed, small_picture=small)


def grey(*squares):
    """Even grey with squares of 2 mm of another tone: middle x, y in mm, and tone."""
    columns, rows = (round(n * SMALL_PER_MM) for n in FRAME.size_mm)
    light = np.full((rows, columns, 3), GREY)
    for x, y, tone in squares:
        left, top = (round((n - 1) * SMALL_PER_MM) for n in (x, y))
        light[top : top + 20, left : left + 20] = tone
    return light


def lightness(tone):
    """CIE L* of a reflectance factor, CIE 15 (from memory)."""
    return 116 * np.cbrt(tone) - 16


def test_planted_squares_are_found_in_order_with_their_size():
    planted = grey((8, 8, 0.5), (20, 12, 0.8))
    found = difference_places(
        {"plain": [print_of("a", grey())], "planted": [print_of("b", planted)]}, DISTANCE_MM
    )
    places = [(p.x_mm, p.y_mm) for p in found[:2]]
    assert places == [pytest.approx((20, 12), abs=0.1), pytest.approx((8, 8), abs=0.1)]
    assert found[0].settings == ("plain", "planted")
    assert len(found) <= MOST_PLACES
    # the eye's blur of the square's rim takes the rest
    assert found[0].difference == pytest.approx(lightness(0.8) - lightness(GREY), rel=0.05)


def test_fine_structure_counts_as_the_eye_sees_it():
    """Checks of a pixel, 5 cycles/mm, against a tone that differs less: seen near, not from 2 m."""
    checks = grey((20, 12, 0.45))
    board = 0.2 * (-1.0) ** np.add.outer(np.arange(20), np.arange(20))
    checks[70:90, 70:90] += board[..., None]
    both = {"plain": [print_of("a", grey())], "other": [print_of("b", checks)]}
    far = difference_places(both, 2000.0)[0]
    assert (far.x_mm, far.y_mm) == pytest.approx((20, 12), abs=0.2)


def test_places_are_clear_of_each_other_and_within_the_picture():
    light = np.random.default_rng(2).uniform(0.2, 0.8, grey().shape)
    found = difference_places(
        {"a": [print_of("a", grey())], "b": [print_of("b", light)]}, DISTANCE_MM
    )
    assert len(found) == MOST_PLACES
    region = FRAME.regions["picture"]
    right, bottom = region.x_mm + region.width_mm, region.y_mm + region.height_mm
    for n, p in enumerate(found):
        assert region.x_mm + 1 <= p.x_mm <= right - 1
        assert region.y_mm + 1 <= p.y_mm <= bottom - 1
        others = found[:n]
        assert all(max(abs(p.x_mm - q.x_mm), abs(p.y_mm - q.y_mm)) > 1.99 for q in others)


def test_grain_of_single_prints_counts_less():
    """A print's own grain against a planted square: of three prints each, a third in power."""
    rng = np.random.default_rng(5)

    def prints(name, light):
        return [
            print_of(f"{name}{n}", light + 0.1 * rng.standard_normal(light.shape[:2])[..., None])
            for n in range(3)
        ]

    settings = {"a": prints("a", grey()), "b": prints("b", grey((20, 12, 0.45)))}
    found = difference_places(settings, DISTANCE_MM)[0]
    assert (found.x_mm, found.y_mm) == pytest.approx((20, 12), abs=0.5)


def test_nothing_to_lay_on_each_other_gives_no_place():
    one = {"a": [print_of("a", grey())]}
    elsewhere = Patch(360, 2, "simulated", "picture", (9, 7))
    assert not difference_places(one, DISTANCE_MM)
    assert not difference_places({**one, "b": [print_of("b", grey(), elsewhere)]}, DISTANCE_MM)
    assert not difference_places({**one, "b": [print_of("b", grey())]}, DISTANCE_MM)
