"""The sample captures are those that the script in their folder makes."""

import importlib.util
from pathlib import Path

import cv2
import numpy as np

SAMPLES = Path(__file__).parents[2] / "sample_captures"


def load_script():
    spec = importlib.util.spec_from_file_location("make_samples", SAMPLES / "make_samples.py")
    module = importlib.util.module_from_spec(spec)
    import sys

    sys.modules["make_samples"] = module
    spec.loader.exec_module(module)
    return module


def test_every_sample_of_the_scenario_is_there_and_no_other():
    made = {sample.file for sample in load_script().scenario()}
    found = {str(path.relative_to(SAMPLES)) for path in SAMPLES.rglob("*.jpg")}
    assert found == made


def test_samples_stay_under_40_megabytes():
    assert sum(path.stat().st_size for path in SAMPLES.rglob("*") if path.is_file()) < 40e6


def test_a_sample_is_rebuilt(tmp_path, table_row):
    """Same pixels; the bytes too, as long as the JPEG encoder is the one that made them."""
    script = load_script()
    sample = next(s for s in script.scenario() if s.file == "ladder/ppi360/print1.jpg")
    rebuilt, kept = script.make(sample, tmp_path), SAMPLES / sample.file
    same = rebuilt.read_bytes() == kept.read_bytes()
    table_row("sample captures", f"{sample.file} rebuilt bit for bit: {same}")
    difference = cv2.absdiff(cv2.imread(str(rebuilt)), cv2.imread(str(kept)))
    assert np.mean(difference > 0) < 1e-4
