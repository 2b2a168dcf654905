"""Just visible steps: closed forms, limits of the eye, and one scale for every verdict."""

from types import SimpleNamespace

import numpy as np
import pytest
from compare.invented import shot, visibility_between
from scipy.integrate import quad

from dotloupe.compare.ranking.ranking import rank
from dotloupe.compare.visibility import visible_steps as visible
from dotloupe.compare.visibility.eye_model import (
    FREQUENCIES,
    WEBER,
    contrast_steps,
    edge_thresholds,
    gaussian_mtf,
    grain_thresholds,
    octave_rms,
)
from dotloupe.compare.visibility.visible_steps import BARS_OF_MTF50, VisibleScale, visible_scales
from dotloupe.measure.seeing import dooley_shaw_transfer
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number


def measured(setting, print_id, values):
    numbers = {c: Number(v, 0.99 * v, 1.01 * v, CRITERIA[c].unit) for c, v in values.items()}
    name = f"{setting}-{print_id}"
    return Measurement(name, name, str(print_id), 1, 600.0, True, (), (), numbers)


def scale_of(criterion, *values, distance_mm=350.0):
    shots = [measured("a", i, {criterion: v}) for i, v in enumerate(values)]
    return visible_scales({"a": shots}, distance_mm)[criterion]


def test_a_step_is_the_threshold_and_webers_share():
    low = np.geomspace(0.01, 100, 30)
    high = low + 1 + WEBER * low
    assert contrast_steps(high) - contrast_steps(low) == pytest.approx(np.ones(30))
    # of faint contrasts, one threshold is one step
    assert contrast_steps(np.array(1.0)) == pytest.approx(1)


@pytest.mark.parametrize(
    ("mtf50", "distance_mm"), [(1.0, 1000.0), (1.0, 350.0), (2.0, 350.0), (4.0, 250.0)]
)
def test_details_a_step_apart_differ_by_a_step_in_the_clearest_channel(mtf50, distance_mm):
    scale = scale_of("detail_x", mtf50, distance_mm=distance_mm)
    finer = np.linspace(mtf50, 3 * mtf50, 4000)
    steps = np.array([scale.at_viewing(v) for v in finer]) - scale.at_viewing(mtf50)
    assert np.all(np.diff(steps) > 0)
    assert steps[-1] > 1
    other = finer[np.argmax(steps >= 1)]
    sharp = edge_thresholds(np.array([distance_mm]))[0]
    apart = contrast_steps(gaussian_mtf(other) * sharp) - contrast_steps(
        gaussian_mtf(mtf50) * sharp
    )
    # the clearest channel wanders a little on the way from one to the other
    assert max(apart) == pytest.approx(1, abs=0.06)


def test_grain_steps_have_their_closed_form():
    scale = scale_of("grain", 0.5)
    rms = octave_rms(FREQUENCIES, np.full_like(FREQUENCIES, 1e-6))
    thresholds = [np.max(grain_thresholds(k * rms, 0.2, np.array([350.0]))) for k in (1, 2)]
    assert thresholds[1] == pytest.approx(2 * thresholds[0])
    # T(v) = -log(1 + w c v) / log(1 + w): three values give c twice over
    steps = [scale.at_viewing(v) for v in (0.1, 0.4, 0.8)]
    c = [np.expm1(-s * np.log1p(WEBER)) / WEBER for s in steps]
    assert c[1] / 0.4 == pytest.approx(c[2] / 0.8, rel=1e-3)


def test_bars_count_as_the_blur_that_resolves_them():
    # Coltman's fundamental: 4/pi of the MTF at BARS_OF_MTF50 times MTF50 is a tenth
    assert 4 / np.pi * 0.5**BARS_OF_MTF50**2 == pytest.approx(0.1, rel=1e-12)
    bars, detail = scale_of("line_pairs_x", 8.0), scale_of("detail_x", 8.0 / BARS_OF_MTF50)
    for ratio in (0.7, 1.3):
        by_bars = bars.at_viewing(8 * ratio) - bars.at_viewing(8)
        by_edges = detail.at_viewing(8 / BARS_OF_MTF50 * ratio) - detail.at_viewing(
            8 / BARS_OF_MTF50
        )
        assert by_bars == pytest.approx(by_edges, rel=1e-6)


def reach(criterion, first, second):
    scale = scale_of(criterion, first, second)
    return scale.reach_mm(np.abs(scale.curve(first) - scale.curve(second)))


def test_like_is_never_told_from_like_and_more_is_seen_from_farther():
    assert reach("detail_x", 4.0, 4.0) == 0
    far = [reach("detail_x", 2.0, b) for b in (2.2, 2.6, 3.2, 4.0)]
    assert far == sorted(far)
    assert far[0] < far[-1]
    far = [reach("grain", 0.5, b) for b in (0.6, 0.8, 1.2, 2.0)]
    assert far == sorted(far)


def test_twice_the_size_is_seen_from_twice_as_far():
    # enlarging a print by two halves its frequencies; a contour grows too, which the model's
    # fixed contour leaves out: up to the root of two of sensitivity
    near, far = reach("detail_x", 4.0, 8.0), reach("detail_x", 2.0, 4.0)
    assert 1.6 * near < far <= 2.02 * near


def test_acuity_bounds_what_is_seen():
    # 60 cycles per degree is the finest that any eye resolves: 6.9 cycles/mm at 500 mm, so that
    # nothing told between two responses that are both whole up to there
    assert reach("detail_x", 30.0, 40.0) < 500


@pytest.mark.parametrize("seed", range(20))
def test_more_than_a_step_is_said_exactly_where_the_eye_tells_them_apart(seed):
    rng = np.random.default_rng(seed)
    distance_mm = float(rng.uniform(200, 900))
    true = {
        s: {"detail_x": rng.uniform(1, 4), "detail_y": rng.uniform(1, 4),
            "grain": rng.uniform(0.2, 1.0)}
        for s in "abc"
    }  # fmt: skip
    settings = {
        s: [
            measured(s, i, {c: v * (1 + 0.03 * rng.standard_normal()) for c, v in values.items()})
            for i in range(3)
        ]
        for s, values in true.items()
    }
    ranking = rank(settings, viewing_distance_mm=distance_mm)
    overall = ranking.overall
    seen_any = 0
    for first, second in (("a", "b"), ("a", "c"), ("b", "c")):
        for by in visibility_between(ranking, first, second).by:
            shares = [overall.contributions[s][by.criterion] for s in (first, second)]
            steps = abs(shares[0] - shares[1]) / overall.weights[by.criterion]
            assert by.steps == pytest.approx(steps, rel=1e-9, abs=1e-12)
            assert (steps >= 1) == (by.distance_mm >= distance_mm)
            assert by.steps_interval[0] <= by.steps <= by.steps_interval[1]
            assert by.interval[0] <= by.distance_mm <= by.interval[1]
            seen_any += steps >= 1
    assert seen_any


def test_the_last_setting_is_where_overall_counts_from():
    settings = {
        s: [measured(s, i, {"detail_x": 3.0, "grain": g * (1 + 0.01 * i)}) for i in range(3)]
        for s, g in (("rough", 0.9), ("smooth", 0.4), ("middle", 0.6))
    }
    ranking = rank(settings)
    places = ranking.criteria["overall"].places
    assert [p.setting for p in places] == ["smooth", "middle", "rough"]
    assert places[-1].value == pytest.approx(0, abs=1e-9)
    by = next(
        b for b in visibility_between(ranking, "smooth", "rough").by if b.criterion == "grain"
    )
    # detail alike: overall is the grain's steps
    assert places[0].value == pytest.approx(by.steps)


@pytest.mark.parametrize(
    ("apart", "expected"),
    [
        # steps straight over the logarithm of the distance
        ([4, 3, 2, 1.5, 0.5, 0], 800 * 2**0.5),
        ([4, 3, 2, 1.25, 0.25, 0], 800 * 2**0.25),
        ([4, 3, 2, 1, 0, 0], 800),
        # not told apart at the viewing distance of 400: the farthest of what lies nearer
        ([4, 1.5, 0.5, 0, 0, 0], 200 * 2**0.5),
        ([0.5, 0.5, 0.9, 2, 2, 2], 0),
        # told apart as far as it is looked at
        ([4, 3, 2, 2, 2, 1], 3200),
    ],
)
def test_the_reach_lies_where_the_steps_cross_one(apart, expected):
    distances = 100.0 * 2.0 ** np.arange(6)
    scale = VisibleScale("grain", distances, 2, np.array([0.1, 1.0]), np.zeros((6, 2)))
    assert scale.reach_mm(np.array(apart, dtype=float)) == pytest.approx(expected)


def test_grain_of_a_figure_is_white_noise_that_the_eye_sees_as_much_of():
    """G^2 = P 2 pi int f V(f)^2 df behind the eye, and an octave of P holds 3/2 pi f^2 P."""
    number = Number(0.8, 0.7, 0.9, "L* rms")
    made = Measurement("a.jpg", "a", "a", 1, 600.0, True, (), (), {"grain": number})
    distance = 400.0
    per_degree = distance * np.pi / 180
    area = quad(lambda f: f * dooley_shaw_transfer(f) ** 2, 0, 60)[0] / per_degree**2
    slope = 116 / 3 * visible.MID_TINT ** (-2 / 3)  # of CIE lightness
    power = 0.8**2 / (2 * np.pi * area) / (slope * visible.MID_TINT) ** 2
    found = visible._even_noise([made], distance)
    inside = FREQUENCIES < 20
    expected = np.sqrt(1.5 * np.pi * power) * FREQUENCIES
    assert found[inside] == pytest.approx(expected[inside], rel=3e-3)
    # white noise of power 1 takes the same sums over octaves: what is left is the power alone
    white = octave_rms(FREQUENCIES, np.ones_like(FREQUENCIES))
    assert found / white == pytest.approx(np.full_like(white, np.sqrt(power)), rel=1e-4)


def test_octaves_of_a_flat_spectrum_hold_at_both_ends():
    """White noise of power 1: the variance in an octave is pi (2 f^2 - f^2 / 2)."""
    wide = np.array([1e-3, 1e3])
    expected = np.sqrt(1.5 * np.pi) * FREQUENCIES
    assert octave_rms(wide, np.ones(2)) == pytest.approx(expected, rel=1e-3)


def test_measured_responses_are_stretched_to_one_width():
    """Gaussian responses of any MTF50 are one Gaussian when stretched to one MTF50."""
    frequency = np.linspace(0, 40, 4001)

    def measured(name, mtf50):
        curve = np.exp(-np.log(2) * (frequency / mtf50) ** 2)
        curve[-5:] = np.nan  # what is not known counts for nothing
        told = SimpleNamespace(frequency=frequency, mtf=curve)
        return shot(name, {"detail_x": mtf50}, directions={"detail_x": told})

    curves = {"a": [measured("a", 2.0), measured("b", 4.0)]}
    figures = {"a": [shot("c", {"detail_x": 2.0}), shot("d", {"detail_x": 4.0})]}
    found, expected = (visible_scales(s, 350.0)["detail_x"] for s in (curves, figures))
    # root mean square of 2 and 4
    assert expected.values[100] == pytest.approx(np.sqrt(10))
    near = slice(70, 131)  # widths within a factor of three of it
    assert found.steps[found.viewing, near] - found.steps[found.viewing, 100] == pytest.approx(
        expected.steps[expected.viewing, near] - expected.steps[expected.viewing, 100], abs=0.02
    )
    assert gaussian_mtf(3.0)[np.searchsorted(FREQUENCIES, 3.0)] == pytest.approx(0.5, abs=0.03)
