"""Turned feeding and true widths as a person gives them: options, and keys of a session file."""

import json
import shutil
from pathlib import Path

import pytest
from command_line import dotloupe

SAMPLE = Path(__file__).parents[2] / "sample_captures" / "quality" / "fast" / "print1.jpg"
PLAN = """\
printer = "desk"
paper = "lustre"
[[runs]]
run = 1
ppi = 600
mode = "fast"
turned = true
captures = ["print1.jpg"]
"""


def numbers(*words, cwd="."):
    result = dotloupe("measure", *words, "--json", "-", cwd=cwd)
    assert result.returncode == 0, result.stderr
    (found,) = json.loads(result.stdout)
    return found


@pytest.fixture(scope="module")
def as_it_lies():
    return numbers(SAMPLE)["numbers"]


@pytest.mark.parametrize("by", ["option", "plan"])
def test_turned_prints_have_x_and_y_exchanged(by, as_it_lies, tmp_path):
    shutil.copy(SAMPLE, tmp_path)
    (tmp_path / "plan.toml").write_text(PLAN, "utf-8")
    found = numbers(*((SAMPLE, "--turned") if by == "option" else (tmp_path / "plan.toml",)))
    assert found["numbers"].keys() == as_it_lies.keys()
    for name in ("detail", "line_pairs", "offset_cyan"):
        assert found["numbers"][f"{name}_x"] == as_it_lies[f"{name}_y"]
        assert found["numbers"][f"{name}_y"] == as_it_lies[f"{name}_x"]
    assert found["numbers"]["grain"] == as_it_lies["grain"]
    assert found["parameters"]["fed_turned"] is True
    assert any("turned by 90" in warning for warning in found["warnings"])


def test_a_true_width_is_measured_by(as_it_lies):
    found = numbers(SAMPLE, "--true-width-mm", 28.13)
    ratio = found["numbers"]["detail_x"]["value"] / as_it_lies["detail_x"]["value"]
    assert ratio == pytest.approx(29 / 28.13, rel=0.01)
    assert found["parameters"]["true_width_mm"] == 28.13
    assert any("97.0 %" in warning for warning in found["warnings"])


def test_a_width_of_something_else_is_refused_in_one_line():
    result = dotloupe("measure", SAMPLE, "--true-width-mm", 5)
    assert result.returncode == 3
    (line,) = result.stderr.splitlines()
    assert "print1.jpg" in line
    assert "outer edge" in line
