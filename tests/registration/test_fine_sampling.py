"""A capture sampled far more finely than its print: averaging it first changes no number."""

import pytest

from dotloupe import Patch, load_capture, measure_capture, simulate
from dotloupe.simulate.camera import Camera

SHARE_OF_INTERVAL = 0.15
"""Of a number's half interval, a 1 % wider error. Places and borders of lines, and counts of single
dots, hang on thresholds that a pixel's noise passes or not: they may move thrice as far."""


@pytest.mark.slow
def test_numbers_stay_where_every_pixel_puts_them(tmp_path, monkeypatch):
    """Simulated at 160 pixels/mm, twice as many as it takes."""
    patch = Patch(600, 3, "fine sampling")
    printed = simulate.print_picture(patch.draw(), 600, mode=simulate.FINE, seed=3)
    camera = Camera(width_px=5120, height_px=3440)
    shot = simulate.Shot(pixels_per_mm=160.0, seed=3)
    taken = simulate.photograph(printed, camera=camera, shot=shot)
    capture = load_capture(simulate.write_capture(tmp_path / "fine.tif", taken))
    averaged = measure_capture(capture)
    monkeypatch.setattr("dotloupe.registration.view.averaging_step", lambda *_: 1)
    whole = measure_capture(capture)
    assert averaged.numbers.keys() == whole.numbers.keys()
    apart = {}
    for name, number in whole.numbers.items():
        half = (number.high - number.low) / 2
        apart[name] = abs(averaged.numbers[name].value - number.value) / max(half, 1e-12)
    by_threshold = ("offset", "raggedness", "line_width", "passes_apart", "dot")
    assert {
        n: a for n, a in apart.items() if a > SHARE_OF_INTERVAL and not n.startswith(by_threshold)
    } == {}
    assert {n: a for n, a in apart.items() if a > 3 * SHARE_OF_INTERVAL} == {}
