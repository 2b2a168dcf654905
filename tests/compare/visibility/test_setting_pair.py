"""What an eye can tell apart: limits of the model, closed forms, words."""

from types import SimpleNamespace

import numpy as np
import pytest
from compare.invented import shot, visibility_between

from dotloupe.compare.ranking.ranking import rank
from dotloupe.compare.visibility.eye_model import FREQUENCIES, OCTAVE_OF_EDGE, octave_rms
from dotloupe.compare.visibility.setting_pair import visibility_at
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number
from dotloupe.report.text.visibility import MODEL_LIMITS, far, pair_sentence


def prints(setting, rng, *, n=4, spread=0.01, tints=None, **values):
    made = []
    for i in range(n):
        numbers = {
            c: Number(v * f, 0.98 * v * f, 1.02 * v * f, CRITERIA[c].unit)
            for c, v in values.items()
            for f in (1 + spread * rng.standard_normal(),)
        }
        name = f"{setting}-{i}"
        header = (name, name, str(i), 1, 600.0, True, (), (), numbers)
        made.append(Measurement(*header, tints=tints or {}))
    return made


def compared(first, second, **more):
    rng = np.random.default_rng(1)
    ranking = rank(
        {"first": prints("first", rng, **first, **more),
         "second": prints("second", rng, **second, **more)}
    )  # fmt: skip
    return visibility_between(ranking, "first", "second")


def said(found):
    return pair_sentence(found, (found.setting, found.other))


def test_peak_of_an_edge_in_an_octave():
    # an edge of contrast 1 band-passed from 1/sqrt 2 to sqrt 2, summed numerically
    x = np.linspace(0, 1, 2001)
    f = np.geomspace(2**-0.5, 2**0.5, 4001)
    response = [2 / np.pi * np.trapezoid(np.sin(2 * np.pi * f * at) / f, f) for at in x]
    assert max(response) == pytest.approx(OCTAVE_OF_EDGE, rel=1e-3)


def test_octave_of_even_noise():
    # white noise of power 1: variance in an octave is pi (2 f^2 - f^2 / 2)
    rms = octave_rms(FREQUENCIES, np.ones_like(FREQUENCIES))
    inside = FREQUENCIES < 20
    expected = np.sqrt(1.5 * np.pi) * FREQUENCIES
    assert rms[inside] == pytest.approx(expected[inside], rel=0.01)


def test_words_for_a_difference_that_shows():
    found = compared({"detail_x": 2.0, "grain": 0.5}, {"detail_x": 4.0, "grain": 0.5})
    assert (found.setting, found.other) == ("first", "second")
    assert found.viewing_distance_mm == 350
    assert found.by[0].criterion == "detail_x"
    assert found.interval[0] <= found.distance_mm <= found.interval[1]
    assert "first and second look different by detail along x" in said(found)
    assert far(found.by[0].distance_mm) in said(found)
    assert "model" in MODEL_LIMITS


def test_words_for_a_difference_that_takes_a_magnifier():
    found = compared({"detail_x": 5.0}, {"detail_x": 5.4}, spread=0.004)
    assert visibility_at(found.interval, 350.0) == "not visible"
    assert "first and second look the same at 35 cm" in said(found)
    assert "magnifier" in said(found)


def test_words_for_settings_that_prints_do_not_tell_apart():
    found = compared({"grain": 0.5}, {"grain": 0.51}, spread=0.2)
    assert found.by[0].steps_interval[0] == 0
    assert found.interval[0] == 0
    assert "do not settle whether first and second look different at 35 cm" in said(found)
    assert f"up to {far(found.interval[1])})" in said(found)


@pytest.mark.parametrize(
    ("interval", "expected"),
    [((350.0, 900.0), "visible"), ((0.0, 349.0), "not visible"), ((0.0, 1230.0), "undecided"),
     ((160.0, 350.0), "undecided")],
)  # fmt: skip
def test_visibility_goes_by_both_ends_of_the_interval(interval, expected):
    assert visibility_at(interval, 350.0) == expected


def test_half_a_step_is_not_seen_and_two_are():
    half = compared({"grain": 0.5}, {"grain": 0.53}, spread=0.001)
    two = compared({"grain": 0.5}, {"grain": 0.75}, spread=0.001)
    for found, apart in ((half, False), (two, True)):
        (by,) = found.by
        assert (by.steps >= 1) == apart
        assert (by.distance_mm >= 350) == apart
        assert ("look the same" in said(found)) != apart


def test_measured_curves_are_used_where_there_are_any():
    f = np.linspace(0.05, 20, 400)
    even = SimpleNamespace(frequency=f, noise_power=np.full_like(f, 2e-6), mean_reflectance=0.3)
    coarse = SimpleNamespace(
        frequency=f, noise_power=2e-5 * np.exp(-((f / 1.5) ** 2)), mean_reflectance=0.3
    )
    rng = np.random.default_rng(2)

    def reach(tint):
        made = {
            s: prints(s, rng, grain=v, spread=0.001, tints={"tint_3": tint})
            for s, v in (("smooth", 0.4), ("rough", 0.8))
        }
        return visibility_between(rank(made), "rough", "smooth").distance_mm

    # of two grains of one figure at 350 mm the coarse one shows from farther
    assert reach(coarse) > 1.3 * reach(even)


def test_settings_without_detail_and_grain_in_common_have_no_visibility():
    rng = np.random.default_rng(3)
    ranking = rank({s: prints(s, rng, line_pairs_x=8.0) for s in ("a", "b")})
    assert visibility_between(ranking, "a", "b") is None
    assert ranking.visibility == ()


def test_prints_without_any_error_known_may_differ_by_anything():
    def alone(name, grain):
        made = shot(name, {"grain": grain})
        made.numbers["grain"] = Number(grain, np.nan, np.nan, "L* rms")
        return [made]

    (by,) = visibility_between(rank({"a": alone("a", 0.4), "b": alone("b", 0.8)}), "a", "b").by
    assert by.steps > 1
    assert by.steps_interval == (0.0, np.inf)
    assert by.interval == (0.0, 20_000.0)
