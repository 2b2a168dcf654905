"""Taking the camera out of a print's edge."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr, stdtrit

from dotloupe.errors import RegionError
from dotloupe.measure.camera_mtf import CAMERA_FLOOR, camera_curve
from dotloupe.measure.edge.cautions import CrossingNotMeasured, MtfEndsEarly, ReferenceRunsOtherwise
from dotloupe.measure.edge.slanted import camera_response, slanted_edge

PER_MM = 150.0
ROW, COLUMN = np.mgrid[:120, :120] - 59.5


def edge(sigma, *, angle_deg=5.0, dark=0.2, light=0.8, noise=0.0, seed=0):
    d = COLUMN * np.cos(np.radians(angle_deg)) - ROW * np.sin(np.radians(angle_deg))
    chance = np.random.default_rng(seed).standard_normal(d.shape)
    return dark + (light - dark) * ndtr(d / sigma) + noise * chance


def reference(noise=0.0, seed=9, sigma=1.5):
    return camera_response(edge(sigma, angle_deg=4.0, dark=0.04, noise=noise, seed=seed), PER_MM)


@pytest.mark.parametrize("sigma", [1.5, 2.0, 4.0])
def test_print_alone_remains(sigma):
    seen = edge(np.hypot(sigma, 1.5))
    alone = slanted_edge(seen, PER_MM, camera_mtf=reference())
    # Gaussians add in squares, so the print's own MTF50 is 0.18739 / sigma (closed form).
    assert alone.mtf50 == pytest.approx(PER_MM * 0.18739 / sigma, rel=3e-3)
    assert not alone.camera_included
    assert slanted_edge(seen, PER_MM).camera_included


def test_pair_of_arrays_does_the_same_and_has_no_error_of_its_own():
    frequency = np.linspace(0.0, 60.0, 500)
    curve = np.exp(-2 * (np.pi * frequency * 1.5 / PER_MM) ** 2)
    alone = slanted_edge(edge(2.5), PER_MM, camera_mtf=(frequency, curve))
    assert alone.mtf50 == pytest.approx(PER_MM * 0.18739 / 2.0, rel=3e-3)
    late = camera_curve((frequency[5:], curve[5:]))
    assert late.frequency[0] == 0.0
    assert late.mtf[0] == 1.0
    assert not late.error.any()


def test_division_stops_where_the_camera_passes_a_fifth():
    alone = slanted_edge(edge(2.5), PER_MM, camera_mtf=reference())
    # exp(-2 (pi f sigma)^2) = 0.2 (closed form).
    stop = PER_MM * np.sqrt(-np.log(CAMERA_FLOOR) / 2) / np.pi / 1.5
    assert alone.frequency[-1] == pytest.approx(stop, rel=5e-3)
    assert any(isinstance(c, MtfEndsEarly) for c in alone.cautions)


def test_detail_beyond_the_camera_is_a_bound_and_not_a_number():
    alone = slanted_edge(edge(np.hypot(0.8, 1.5)), PER_MM, camera_mtf=reference())
    assert np.isnan(alone.mtf50)
    assert alone.mtf50_interval[0] <= PER_MM * 0.18739 / 0.8
    assert alone.mtf50_interval[1] == np.inf
    assert CrossingNotMeasured(0.5) in alone.cautions


def test_error_of_the_camera_is_carried():
    seen = edge(2.5, noise=0.003)
    exact = reference()
    pair = (exact.frequency, exact.mtf)
    loose = reference(noise=0.05)
    narrow = slanted_edge(seen, PER_MM, camera_mtf=pair).mtf50_interval
    wide = slanted_edge(seen, PER_MM, camera_mtf=loose).mtf50_interval
    # The reference is over ten times as noisy as the print (per step), so it rules the interval.
    assert np.log(wide[1] / wide[0]) > 4 * np.log(narrow[1] / narrow[0])


def test_intervals_hold_with_a_noisy_camera():
    truth, held = PER_MM * 0.18739 / 3.0, 0
    for seed in range(16):
        camera = reference(noise=0.01, seed=100 + seed)
        seen = edge(np.hypot(3.0, 1.5), noise=0.012, seed=seed)
        low, high = slanted_edge(seen, PER_MM, camera_mtf=camera).mtf50_interval
        held += low <= truth <= high
    assert held >= 12  # 95 % of 16 less three standard deviations


def test_reference_in_the_other_direction_is_flagged():
    alone = slanted_edge(edge(2.5).T, PER_MM, camera_mtf=reference())
    assert ReferenceRunsOtherwise("vertical", "horizontal") in alone.cautions


def test_the_error_of_a_curve_is_the_edges_own_standard_error():
    """Not its interval over the 1.96 of a normal: the edge has 8 degrees of freedom."""
    response = reference()
    half = response.mtf_high - response.mtf
    assert camera_curve(response).error == pytest.approx(half / stdtrit(8, 0.975), abs=1e-12)


def test_a_faint_reference_is_refused():
    with pytest.raises(RegionError, match="3:1"):
        camera_response(edge(1.5, dark=0.5), PER_MM)


@pytest.mark.parametrize(
    ("pair", "reason"),
    [
        ((np.array([0.0, 1.0]),), "pair"),
        ((np.array([0.0, 1.0]), np.array([1.0])), "one length"),
        ((np.array([0.0, 2.0, 1.0]), np.ones(3)), "rise"),
        ((np.array([0.0, 1.0]), np.array([1.0, np.nan])), "missing"),
        ((np.array([0.0, 1.0]), np.array([70.0, 40.0])), "1 at zero"),
    ],
)
def test_a_curve_that_is_none_is_refused(pair, reason):
    with pytest.raises(RegionError, match=reason):
        slanted_edge(edge(2.5), PER_MM, camera_mtf=pair)
