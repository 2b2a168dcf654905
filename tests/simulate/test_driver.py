"""The driver: coding, resampling, separation."""

import colour
import numpy as np
import pytest

from dotloupe.patch.srgb import srgb_decode, srgb_encode
from dotloupe.simulate.calibration import calibrate
from dotloupe.simulate.driver import resample, resampling_matrix, separate
from dotloupe.simulate.paper import LUSTRE
from dotloupe.simulate.printer import FAST, PRINTER_720


def test_srgb_against_a_colour_library() -> None:
    coded = np.linspace(0.0, 1.0, 200)
    linear = colour.models.eotf_sRGB(coded)
    # The two ends of the curve's straight part differ by 1e-7 among published constants.
    assert srgb_decode(coded) == pytest.approx(linear, abs=1e-6)
    assert srgb_encode(linear) == pytest.approx(coded, abs=1e-6)


@pytest.mark.parametrize("sent_ppi", [150.0, 300.0, 611.0, 720.0, 1440.0])
def test_resampling_keeps_an_even_tone_and_places(sent_ppi: float) -> None:
    pixels = round(10.0 * sent_ppi / 25.4)
    assert resampling_matrix(pixels, sent_ppi, 720.0).sum(axis=1) == pytest.approx(1.0, abs=1e-5)
    place_mm = (np.arange(pixels) + 0.5) * 25.4 / sent_ppi
    ramp = np.repeat(place_mm[None, :, None] / 10.0, 3, axis=2).astype(np.float32)
    raster = resample(np.repeat(ramp, 16, axis=0), sent_ppi, 720.0)[4, :, 0]
    raster_mm = (np.arange(raster.size) + 0.5) * 25.4 / 720.0
    inside = (raster_mm > 1.0) & (raster_mm < 9.0)
    # A windowed sinc repeats a ramp to a hundredth of a pixel of the coarser pitch.
    pitch_mm = 25.4 / min(sent_ppi, 720.0)
    assert 10.0 * raster[inside] == pytest.approx(raster_mm[inside], abs=0.01 * pitch_mm)


@pytest.mark.parametrize("sent_ppi", [540.0, 600.0, 660.0, 700.0, 720.0, 750.0, 900.0, 1440.0])
def test_no_sent_resolution_is_passed_better_than_its_neighbours(sent_ppi: float) -> None:
    frequency = 5.0
    pixels = round(20.0 * sent_ppi / 25.4)
    place_mm = (np.arange(pixels) + 0.5) * 25.4 / sent_ppi
    raster = 0.5 + resampling_matrix(pixels, sent_ppi, 720.0) @ (
        0.3 * np.sin(2.0 * np.pi * frequency * place_mm)
    )
    raster_mm = (np.arange(raster.size) + 0.5) * 25.4 / 720.0
    inside = (raster_mm > 2.0) & (raster_mm < 18.0)
    wave = np.exp(-2j * np.pi * frequency * raster_mm[inside])
    # 5 cycles/mm, where prints lose half: passed within 0.6 % at every ratio of pitches.
    assert 2.0 * np.abs(np.mean((raster[inside] - 0.5) * wave)) == pytest.approx(0.3, rel=0.006)


def test_inks_of_plain_colours() -> None:
    curves = calibrate(PRINTER_720, FAST, LUSTRE)
    black = curves.black
    target = np.array([[[1, 1, 1], [black] * 3, [0.4, 1, 1], [0.9, 0.3, 0.9], [0.5, 0.5, 0.5]]])
    cyan, magenta, yellow, key = (plane[0] for plane in separate(target, curves, PRINTER_720))
    assert max(plane[0] for plane in (cyan, magenta, yellow, key)) == pytest.approx(0.0, abs=1e-6)
    assert key[1] == pytest.approx(PRINTER_720.max_coverage, abs=0.01)
    assert max(cyan[1], magenta[1], yellow[1]) < 0.01
    assert cyan[2] > 0.1
    assert max(magenta[2], yellow[2], key[2]) < 1e-6
    assert magenta[3] > 0.1
    assert cyan[3] < 0.05
    assert min(cyan[4], magenta[4], yellow[4]) > key[4]
