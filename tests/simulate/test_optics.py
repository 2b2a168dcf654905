"""Transfers against closed forms."""

import numpy as np
import pytest

from dotloupe.simulate.camera import Camera, Shot
from dotloupe.simulate.optics import (
    defocus_disc_mm,
    demosaic_transfer,
    diffraction_transfer,
    disc_transfer,
    pixel_transfer,
    sheet_f_number,
)
from dotloupe.simulate.paper import Paper, spread_transfer


def test_diffraction_halves_at_its_published_place(outside_check) -> None:
    # Round pupil: half at 0.40397 of the cutoff (derived from the closed form).
    claim = "simulated diffraction at 0, 0.40397, 1 and 1.5 of its cutoff"
    got = diffraction_transfer(np.array([0.0, 40.397, 100.0, 150.0]), 100.0)
    outside_check(claim, "closed form, round pupil", [1.0, 0.5, 0.0, 0.0], got, abs=1e-5)


def test_disc_first_zero(outside_check) -> None:
    # 2 J1(x)/x is zero first at x = 3.8317: f = 1.2197/d, 40.66 cycles/mm for 30 um.
    got = disc_transfer(np.array([0.0, 1.21967 / 0.030]), 0.030)
    claim = "simulated defocus disc at 0 and at its first zero"
    outside_check(claim, "closed form, first zero of J1", [1.0, 0.0], got, abs=1e-5)


def test_square_pixel_halves_at_its_published_place(outside_check) -> None:
    # Square aperture: half at 0.60335 cycles a pixel (derived).
    camera, shot = Camera(), Shot(pixels_per_mm=80.0, rotation_deg=0.0)
    fx = np.array([0.60335 * 80.0])
    none = np.zeros(1)
    got = [pixel_transfer(camera, shot, fx, none)[0], pixel_transfer(camera, shot, none, fx)[0]]
    claim = "simulated square pixel at 0.60335 cycles a pixel, both ways"
    outside_check(claim, "closed form, sinc", 0.5, got, abs=1e-4)


def test_paper_spread_is_the_transform_of_its_exponential() -> None:
    paper = Paper(spread_um=40.0)
    step_mm = 0.002
    place_mm = (np.arange(-500, 500) + 0.5) * step_mm
    radius_mm = np.hypot(place_mm[:, None], place_mm[None, :])
    spread = np.exp(-radius_mm / 0.040) / (2.0 * np.pi * 0.040**2) * step_mm**2
    frequency = np.array([0.0, 1.0, 3.0, 6.0])
    got = np.cos(2.0 * np.pi * frequency[:, None] * place_mm) @ spread.sum(axis=0)
    assert spread_transfer(paper, frequency) == pytest.approx(got, abs=5e-4)


def test_bilinear_demosaic_at_the_sensor_nyquist() -> None:
    shot = Shot(pixels_per_mm=80.0, rotation_deg=0.0)
    nyquist, none = np.array([40.0]), np.array([0.0])
    assert demosaic_transfer(0, nyquist, none, shot) == pytest.approx(0.0, abs=1e-12)
    assert demosaic_transfer(1, nyquist, none, shot) == pytest.approx(0.5)
    assert demosaic_transfer(1, nyquist, nyquist, shot) == pytest.approx(0.0, abs=1e-12)
    assert demosaic_transfer(2, none, none, shot) == pytest.approx(1.0)


def test_defocus_by_similar_triangles() -> None:
    camera, shot = Camera(f_number=8.0, pitch_um=5.0), Shot(pixels_per_mm=100.0)
    # Magnification 0.5: f-number on the sheet's side 8 * 1.5 / 0.5 = 24.
    assert sheet_f_number(camera, shot) == pytest.approx(24.0)
    assert defocus_disc_mm(camera, shot, np.array([-0.24])) == pytest.approx(0.010)
