"""The camera's own ceiling over a ladder: where it lies, and which of the two ends the ladder."""

import json
from types import SimpleNamespace

import numpy as np
import pytest

from dotloupe.compare.ladder.all_criteria import ladder
from dotloupe.compare.ladder.ceiling import camera_ceiling
from dotloupe.measure.camera_mtf import camera_curve
from dotloupe.measurement import Measurement, PatchMeasurement
from dotloupe.number import CRITERIA, Number
from dotloupe.report.json_values import ladder_json
from dotloupe.report.model import ladder_model
from dotloupe.report.text.ladder import camera_sentence
from dotloupe.report.text.terminal import ladder_table

PPI = (240.0, 300, 360, 450, 600, 720, 1200)


def shot(ppi, number, detail, *, pixels_per_mm=80.0, camera=None):
    numbers = {
        c: Number(v, 0.98 * v, 1.02 * v, CRITERIA[c].unit)
        for c, v in (("detail_x", detail), ("line_pairs_x", 2 * detail))
    }
    registration = SimpleNamespace(pixels_per_mm=pixels_per_mm, patch=None, sight_mm=None)
    name = f"{ppi:g}-{number}"
    header = (name, name, str(number), 1, ppi, True, (), (), numbers)
    return PatchMeasurement(*header, registration=registration, camera_curve=camera)


def climbed(plateau=5.0, **camera):
    """Quadrature of file and printer, two prints a ppi."""
    return ladder(
        {
            ppi: [
                shot(ppi, i, plateau * f / np.sqrt(1 + (200 / ppi) ** 2), **camera)
                for i, f in enumerate((0.995, 1.005))
            ]
            for ppi in PPI
        }
    )


def test_sampling_sets_the_ceiling_without_a_camera_response():
    found = climbed().leading.ceiling
    # Nyquist: half of 80 pixels to the mm
    assert (found.frequency, found.limit, found.response_taken_out) == (40.0, "sampling", False)


def test_a_response_taken_out_sets_it_where_it_passes_a_fifth():
    frequency = np.linspace(0, 40, 401)
    sigma = 0.015
    curve = camera_curve((frequency, np.exp(-2 * (np.pi * sigma * frequency) ** 2)))
    found = camera_ceiling("detail_x", [shot(600, 0, 4.0, camera=curve)])
    # closed form: exp(-2 (pi s f)^2) = 0.2
    expected = np.sqrt(np.log(5) / 2) / np.pi / sigma
    assert found.frequency == pytest.approx(expected, rel=1e-3)
    assert found.limit == "response"
    # bars are counted in the photograph as it is
    assert camera_ceiling("line_pairs_x", [shot(600, 0, 4.0, camera=curve)]).frequency == 40
    assert camera_ceiling("grain", [shot(600, 0, 4.0, camera=curve)]) is None


def test_the_softest_photograph_sets_the_ceiling():
    shots = [shot(600, 0, 4.0), shot(600, 1, 4.0, pixels_per_mm=30.0)]
    assert camera_ceiling("detail_x", shots).frequency == 15


def test_who_ends_the_ladder():
    assert "sampled finely enough" in camera_sentence(climbed().leading)
    coarse = climbed(pixels_per_mm=14.0)
    said = camera_sentence(coarse.leading)
    assert said.startswith("The camera, not the printer, limits detail along x")
    assert said in " ".join(ladder_table(ladder_model(coarse)).split())
    exact = camera_curve((np.array([0.0, 60.0]), np.array([1.0, 0.9])))
    known = camera_sentence(climbed(camera=exact).leading)
    assert known.startswith("The printer, not the camera, limits")


def test_json_holds_the_ceiling():
    found = json.loads(json.dumps(ladder_json(climbed()), allow_nan=False))
    assert found["camera_ceiling"]["frequency"] == 40
    assert found["criteria"]["line_pairs_x"]["camera_ceiling"]["limit"] == "sampling"
    assert "sampled finely enough" in found["criteria"]["detail_x"]["camera_sentence"]


def test_no_ceiling_is_known_of_bare_numbers():
    numbers = {"detail_x": Number(4.0, 3.9, 4.1, "cycles/mm")}
    bare = Measurement("a", "a", "1", 1, 600.0, True, (), (), numbers)
    assert camera_ceiling("detail_x", [bare]) is None
