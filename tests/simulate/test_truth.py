"""The truths themselves, against closed forms; and the facts of the trade."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import erf
from simulated_truth import EdgeTruth, edge_truth, grain_truth, true_edge_response, true_tint_grain
from simulated_truth.straight_line import distance_from, half_plane_share

from dotloupe import simulate
from dotloupe.errors import InputError
from dotloupe.simulate import Print

LINE = ((3.0, 3.0), (3.0 + np.sin(0.08), 3.0 + np.cos(0.08)))
WINDOW = (0.5, 0.5, 5.5, 5.5)


@pytest.fixture(scope="module")
def printed() -> Print:
    return simulate.print_picture(np.full((171, 171, 3), 128, dtype=np.uint8), 720.0, margin_mm=0.0)


def with_bands(printed: Print, values: np.ndarray) -> Print:
    return replace(printed, bands=np.repeat(values[None].astype(np.float32), 3, axis=0))


@pytest.mark.parametrize("sigma_um", [20.0, 40.0, 60.0])
def test_edge_truth_of_a_gaussian_edge(printed: Print, sigma_um: float) -> None:
    everywhere = (0.0, 0.0, 9.0, 9.0)
    distance_mm = distance_from(LINE, *printed.pixel_places_mm(everywhere))
    edge = 0.5 - 0.3 * erf((distance_mm - 0.004) * 1000.0 / (sigma_um * np.sqrt(2.0)))
    truth: EdgeTruth = edge_truth(with_bands(printed, edge), WINDOW, LINE)
    # Gaussian: exp(-2 (pi sigma f)^2), half at 0.18739 / sigma (closed form).
    gauss = np.exp(-2.0 * (np.pi * sigma_um / 1000.0 * truth.frequency) ** 2)
    assert truth.mtf[truth.frequency <= 12.0] == pytest.approx(
        gauss[truth.frequency <= 12.0], abs=0.002
    )
    assert truth.mtf50 == pytest.approx(187.39 / sigma_um, rel=0.002)
    assert truth.offset_um == pytest.approx(4.0, abs=0.05)


def test_edge_truth_refuses_a_narrow_window(printed: Print) -> None:
    with pytest.raises(InputError, match="widen"):
        edge_truth(printed, (2.9, 0.5, 3.1, 5.5), LINE)


def test_share_of_a_pixel_beyond_a_line() -> None:
    fine = (np.arange(400) + 0.5) / 400 - 0.5
    for angle in (0.0, 0.08, 0.6, np.pi / 4, 1.5):
        line = ((0.0, 0.0), (float(np.cos(angle)), float(np.sin(angle))))
        for x, y in ((0.0, 0.0), (0.3, -0.2), (-0.4, 0.5), (2.0, 0.4)):
            counted = np.mean(distance_from(line, x + fine[None, :], y + fine[:, None]) > 0)
            share = half_plane_share(distance_from(line, np.array(x), np.array(y)), line)
            # Counting 160,000 points errs by a part in 400 of the border they cross.
            assert float(share) == pytest.approx(counted, abs=0.003)


def test_grain_truth_of_white_and_of_smoothed_noise(printed: Print) -> None:
    white = 0.5 + 0.02 * np.random.default_rng(0).standard_normal(printed.bands.shape[1:])
    truth = grain_truth(with_bands(printed, white), WINDOW)
    assert truth.variance == pytest.approx(0.0004, rel=0.01)
    # White noise of variance v on a grid of g per mm has the power v / g^2 everywhere.
    assert truth.noise_power[truth.frequency > 2.0].mean() == pytest.approx(
        0.0004 / 160.0**2, rel=0.01
    )
    assert truth.variance_through(lambda fx, fy: np.ones_like(fx * fy)) == pytest.approx(
        truth.variance, rel=1e-6
    )
    # A Gaussian of s leaves v / (4 pi s^2 g^2) (closed form); some 6,000 places are averaged.
    left = truth.variance_through(lambda fx, fy: np.exp(-2 * (np.pi * 0.02) ** 2 * (fx**2 + fy**2)))
    assert left == pytest.approx(0.0004 / (4.0 * np.pi * (0.02 * 160.0) ** 2), rel=0.06)


def test_texture_comes_out_of_the_grain(printed: Print) -> None:
    relief = printed.window_texture((0.0, 0.0, 9.0, 9.0))
    flat = with_bands(printed, np.float32(0.4) * relief)
    assert grain_truth(flat, WINDOW, texture=False).variance < 1e-10
    assert grain_truth(flat, WINDOW).variance == pytest.approx(
        (0.4 * printed.paper.texture_rms) ** 2, rel=0.2
    )


def test_dots_of_a_tint_are_counted_where_they_fell(printed: Print) -> None:
    whole = sum(printed.ink_dots(name).count for name in ("cyan", "magenta", "yellow"))
    parts = sum(
        printed.ink_dots(name, (left, -1.0, left + 2.0, 7.0)).count
        for name in ("cyan", "magenta", "yellow")
        for left in (-1.0, 1.0, 3.0, 5.0)
    )
    assert parts == whole > 10000


@pytest.mark.slow
@pytest.mark.parametrize("printer", [simulate.PRINTER_720, simulate.PRINTER_600])
def test_facts_of_the_trade_about_grain(printer: simulate.Printer) -> None:
    """Common practice, no source: placement by mode and alignment shows as grain."""

    def power(mode: simulate.Mode, alignment: simulate.Alignment) -> float:
        truth = true_tint_grain(0.5, prints=2, printer=printer, mode=mode, alignment=alignment)
        band = (truth.frequency > 0.4) & (truth.frequency < 10.0)
        return float(truth.noise_power[band].mean())

    fast = power(simulate.FAST, simulate.ALIGNED)
    fine = power(simulate.FINE, simulate.ALIGNED)
    print(f"{printer.name}: grain power 0.4 to 10 cycles/mm, fast {fast:.3g}, fine {fine:.3g}")
    assert fine < 0.8 * fast
    assert power(simulate.FAST, simulate.MISALIGNED) > 1.5 * fast
    assert power(simulate.FINE, simulate.MISALIGNED) == pytest.approx(fine, rel=0.1)


@pytest.mark.slow
@pytest.mark.parametrize("printer", [simulate.PRINTER_720, simulate.PRINTER_600])
def test_facts_of_the_trade_about_detail(printer: simulate.Printer) -> None:
    """Common practice, no source: detail grows to some 600 ppi, then hardly; no ppi is special."""
    sent = (300.0, 360.0, 450.0, 540.0, 600.0, 660.0, 720.0, 900.0, 1200.0)
    truths = {
        ppi: true_edge_response("x", sent_ppi=ppi, prints=2, printer=printer, mode=simulate.FINE)
        for ppi in sent
    }
    half = {ppi: truth.mtf50 for ppi, truth in truths.items()}
    for ppi, truth in truths.items():
        print(f"{printer.name}: {ppi:g} ppi {truth.mtf50:.3f} +- {truth.mtf50_error:.3f}")
    assert 4.0 < half[720.0] < 8.0
    assert half[600.0] > 1.15 * half[300.0]
    assert half[1200.0] < 1.08 * half[600.0]
    # A smooth curve in 1/ppi^2 (the leading term of every aperture) leaves nothing outstanding.
    inverse = 1.0 / np.array(sent) ** 2
    values = np.array(list(half.values()))
    smooth = np.polyval(np.polyfit(inverse, values, 3), inverse)
    assert np.abs(values / smooth - 1.0).max() < 0.015
    fast = true_edge_response(sent_ppi=720.0, prints=2, printer=printer)
    assert fast.mtf50 == pytest.approx(half[720.0], rel=0.08)
