"""Two sample captures give the numbers that they gave when `numbers.json` was written.

A change that is meant to move a number writes the file anew, and says so:
`python tests/sample_captures/test_numbers_stay.py`.
"""

import json
from pathlib import Path

import pytest

from dotloupe import load_capture, measure_capture

HERE = Path(__file__).parent
KEPT = HERE / "numbers.json"
SAMPLES = HERE.parents[1] / "sample_captures"
FILES = ("quality/fast/print1.jpg", "ladder/ppi360/print1.jpg")
LAST_BITS = 1e-9
"""Relative: another processor sums in another order, and what is iterated ends elsewhere by it."""


def numbers_of(file):
    numbers = measure_capture(load_capture(SAMPLES / file)).numbers
    return {name: [n.value, n.low, n.high] for name, n in numbers.items()}


@pytest.mark.parametrize("file", FILES)
def test_numbers_are_what_they_were(file):
    kept, found = json.loads(KEPT.read_text("utf-8"))[file], numbers_of(file)
    assert found.keys() == kept.keys()
    for name, value in kept.items():
        assert found[name] == pytest.approx(value, rel=LAST_BITS, nan_ok=True), name


if __name__ == "__main__":
    KEPT.write_text(json.dumps({f: numbers_of(f) for f in FILES}, indent=1) + "\n", "utf-8")
