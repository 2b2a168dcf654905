"""The head: passes, directions and errors land drops where they are said to."""

from dataclasses import replace

import numpy as np
import pytest

from dotloupe import simulate
from dotloupe.errors import InputError
from dotloupe.simulate.head import (
    Dots,
    feed_bias_um,
    feed_errors_um,
    pass_of,
    place_dots,
)
from dotloupe.simulate.printer import ALIGNED, FAST, FINE, PRINTER_720, Alignment, Mode, Printer

STILL = replace(
    FAST, jitter_x_um=0.0, jitter_y_um=0.0, feed_error_um=0.0, feed_bias_um=0.0, satellite_share=0.0
)
STRAIGHT = replace(PRINTER_720, nozzle_aim_um=0.0)


def place(mode: Mode, alignment: Alignment, printer: Printer, ink: int = 3) -> Dots:
    dots = np.random.default_rng(1).random((800, 500)) < 0.2
    return place_dots(
        dots,
        ink,
        printer,
        mode,
        alignment,
        first_row=100,
        rng=np.random.default_rng(2),
        feed_rng=np.random.default_rng(3),
    )


@pytest.mark.parametrize("mode", [FAST, FINE])
def test_each_kind_of_pass_prints_its_share(mode: Mode) -> None:
    rows, cols = (v.ravel() for v in np.indices((1440, 64)))
    number, nozzle = pass_of(PRINTER_720, mode, rows, cols)
    share = np.bincount(number % mode.passes) / rows.size
    assert share == pytest.approx(1.0 / mode.passes, rel=0.01)
    assert set(nozzle) == set(range(PRINTER_720.nozzles_per_ink))
    # One nozzle prints one row of a pass: rows of one pass and nozzle lie within the interlace.
    row_of = {}
    for key, row in zip(zip(number, nozzle, strict=True), rows, strict=True):
        row_of.setdefault(key, set()).add(row // PRINTER_720.rows_interlaced)
    assert max(map(len, row_of.values())) == 1


def test_passes_must_divide_among_the_rows() -> None:
    with pytest.raises(InputError, match="multiple of 4"):
        place(replace(FAST, passes=6), ALIGNED, PRINTER_720)


def test_directions_part_by_the_bidirectional_offset() -> None:
    dots = place(STILL, Alignment(bidirectional_um=40.0), STRAIGHT)
    # Half to either side: a place between has no dot.
    assert sorted(set(np.round(dots.error_x_um, 3))) == [-20.0, 20.0]
    one_way = place(replace(STILL, bidirectional=False), Alignment(bidirectional_um=40.0), STRAIGHT)
    assert np.ptp(one_way.error_x_um) == 0.0


def test_planes_part_by_their_offset() -> None:
    alignment = Alignment(magenta_um=(12.0, -7.0))
    magenta = place(STILL, alignment, STRAIGHT, ink=1)
    assert magenta.mean_error_um == pytest.approx((12.0, -7.0), abs=1e-4)
    assert place(STILL, alignment, STRAIGHT).mean_error_um == pytest.approx((0.0, 0.0), abs=1e-6)


def test_jitter_and_volume_spread_as_stated() -> None:
    dots = place(replace(STILL, jitter_x_um=7.0, jitter_y_um=4.0), Alignment(), STRAIGHT)
    # 80,000 drops: a standard deviation is known to 0.25 %, four times that is 1 %.
    assert np.std(dots.error_x_um) == pytest.approx(7.0, rel=0.01)
    assert np.std(dots.error_y_um) == pytest.approx(4.0, rel=0.01)
    assert np.std(dots.volume) == pytest.approx(FAST.volume_variation, rel=0.01)


def test_feed_errors() -> None:
    errors = feed_errors_um(replace(STILL, feed_error_um=5.0), np.random.default_rng(0))
    # 1,024 passes: a standard deviation is known to 2.2 %.
    assert errors.std() == pytest.approx(5.0, rel=0.09)
    biased = feed_bias_um(PRINTER_720, replace(STILL, feed_bias_um=2.0))
    assert biased.mean() == pytest.approx(0.0, abs=1e-5)
    assert biased[0] - biased[-1] == pytest.approx(2.0 * 4, rel=0.01)


def test_biased_feed_bands_with_the_period_of_the_feed() -> None:
    mode = replace(STILL, feed_bias_um=15.0)
    rows = PRINTER_720.nozzles_per_ink * PRINTER_720.rows_interlaced // mode.passes
    period_mm = rows * PRINTER_720.pitch_y_um / 1000
    assert period_mm == pytest.approx(12.7 / 4)
    picture = np.full((720, 120, 3), 120, dtype=np.uint8)
    printed = simulate.print_picture(picture, 720.0, printer=STRAIGHT, mode=mode, margin_mm=0)
    window = (0.2, 0.0, 4.0, 8 * period_mm)
    rows = (printed.window(window) / printed.window_texture(window)).mean(axis=1)
    power = np.abs(np.fft.rfft(rows - rows.mean())[1:36]) ** 2
    # Eight periods are looked at: the eighth frequency and its double stand out of the grain.
    assert min(power[7], power[15]) > 3.0 * np.median(power)
    assert np.argmax(power) in {7, 15}


def test_satellites_fly_ahead_of_the_pass() -> None:
    mode = replace(STILL, satellite_share=1.0, satellite_um=30.0, bidirectional=False)
    dots = place(mode, Alignment(), STRAIGHT)
    assert dots.satellite_x_mm - dots.x_mm == pytest.approx(0.030, abs=1e-5)


def test_print_tells_where_the_planes_landed() -> None:
    picture = np.full((120, 120, 3), 40, dtype=np.uint8)
    alignment = Alignment(cyan_um=(20.0, -15.0))
    printed = simulate.print_picture(picture, 720.0, alignment=alignment)
    # Nozzles err by 3 um; some 60 print here, so that a plane's mean errs by 0.4, two by 0.6 um.
    assert printed.plane_offset_um("cyan") == pytest.approx((20.0, -15.0), abs=2.4)
    white = simulate.print_picture(np.full((20, 20, 3), 255, dtype=np.uint8), 720.0)
    assert np.isnan(white.plane_offset_um("cyan")).all()
