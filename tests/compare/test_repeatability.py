"""How well printer and set-up repeat: known variances asked back, intervals, what prints find."""

import json
from dataclasses import replace
from math import isinf, isnan

import numpy as np
import pytest
from scipy import stats

from dotloupe.compare.pairs import compare_pairs
from dotloupe.compare.power import smallest_difference
from dotloupe.compare.prints import PrintValue, Sample
from dotloupe.compare.repeatability import Improve, repeatability
from dotloupe.compare.repeatability.assessment import (
    number_repeatability,
    prints_needed,
)
from dotloupe.compare.repeatability.nested import nested_variances
from dotloupe.errors import InputError
from dotloupe.measurement import Measurement
from dotloupe.number import Measurand, Number, Quantity
from dotloupe.report import repeat_json, write_report


def drawn(rng, design, photograph, between):
    """Values of settings of prints of photographs, by their standard deviations."""
    return [
        [
            10 + between * rng.standard_normal() + photograph * rng.standard_normal(n)
            for n in setting
        ]
        for setting in design
    ]


DESIGNS = {
    "8 prints of 2": [[2] * 8],
    "two settings of 5 of 3": [[3] * 5] * 2,
    "uneven": [[2, 3, 1, 2, 4, 2, 1, 3], [3, 2, 2, 1]],
}


@pytest.mark.parametrize("design", DESIGNS.values(), ids=DESIGNS)
@pytest.mark.parametrize("between", [0.5, 1.0, 2.0])
def test_known_variances_come_back_and_their_intervals_hold(design, between):
    rng = np.random.default_rng([18, int(10 * between), len(design[0])])
    found = [nested_variances(drawn(rng, design, 1.0, between)) for _ in range(500)]
    shots, prints = ([getattr(f, w) for f in found] for w in ("photograph", "between"))
    held = [
        100 * np.mean([c.interval[0] <= true <= c.interval[1] for c in parts])
        for parts, true in ((shots, 1.0), (prints, between**2))
    ]
    means = [np.mean([c.variance for c in parts]) for parts in (shots, prints)]
    print(f"photograph {means[0]:.3f} of 1, held {held[0]:.1f} %; "
          f"print {means[1]:.3f} of {between**2:g}, held {held[1]:.1f} %")  # fmt: skip
    assert means[0] == pytest.approx(1.0, rel=0.1)
    assert means[1] == pytest.approx(between**2, rel=0.1)
    assert all(92 <= h <= 98 for h in held)


def test_mean_squares_are_those_of_the_one_way_analysis_of_variance(outside_check):
    rng = np.random.default_rng(3)
    (setting,) = drawn(rng, [[3] * 5], 1.0, 2.0)
    found = nested_variances([setting])
    ratio = 1 + 3 * found.between.variance / found.photograph.variance
    source = "SciPy, f_oneway"
    outside_check(
        "F of prints photographed anew", source, stats.f_oneway(*setting)[0], ratio, rel=1e-9
    )
    assert (found.photograph.degrees, found.between.degrees) == (10, 4)


def test_one_print_tells_of_the_photograph_alone():
    found = nested_variances([[np.array([1.0, 2.0, 3.0])]])
    assert found.photograph.variance == pytest.approx(1)
    assert isnan(found.between.variance)
    assert isinf(found.between.interval[1])
    assert nested_variances([[np.array([1.0]), np.array([2.0])]]) is None
    assert number_repeatability("a", "a", "um", found).improve is None


@pytest.mark.parametrize("prints", [2, 3, 5, 8])
def test_smallest_differences_are_found_in_80_of_100_tests(prints):
    rng = np.random.default_rng(prints)
    shift, found = np.array([[smallest_difference(1.0, prints)], [0.0]]), 0
    for _ in range(1500):
        samples = [
            Sample(name, tuple(PrintValue(f"{name}{i}", v, np.nan, 1) for i, v in enumerate(own)))
            for name, own in zip("ab", shift + rng.standard_normal((2, prints)), strict=True)
        ]
        found += compare_pairs(samples)[0].distinguishable
    print(f"{prints} prints: {100 * found / 1500:.1f} % found")
    # the standard error of a share of 1,500 tests is 1 %
    assert 100 * found / 1500 == pytest.approx(80, abs=4)


def test_prints_needed_are_the_fewest_that_find_the_difference():
    n = prints_needed(1.0, 1.5)
    assert smallest_difference(1.0, n) <= 1.5 < smallest_difference(1.0, n - 1)
    assert prints_needed(1.0, 0.01) is None
    assert prints_needed(1.0, 0.0) is None


def photographs(photograph, between, *, shots=2, prints=6):
    rng = np.random.default_rng(7)
    found = []
    for i in range(prints):
        detail, offset = 6 + between * rng.standard_normal(), 1 + rng.standard_normal()
        for j in range(shots):
            d, o = detail + photograph * rng.standard_normal(), offset + 0.1 * rng.standard_normal()
            numbers = {
                m.name: Number(v, v - 0.1, v + 0.1, unit, m)
                for m, v, unit in (
                    (Measurand(Quantity.DETAIL, "x"), d, "cycles/mm"),
                    (Measurand(Quantity.OFFSET, "x", ink="cyan"), o, "um"),
                )
            }
            name, sha256 = f"print{i}", f"{i:032x}{j:032x}"
            path = f"{name}_shot{j}.tif"
            found.append(Measurement(path, sha256, name, i, 600.0, True, (), (), numbers))
    return found


def test_camera_or_printer_is_improved_first():
    camera, printer = photographs(0.5, 0.1), photographs(0.1, 0.5)
    assert repeatability({"fast": camera}).improve is Improve.CAMERA
    found = repeatability({"fast": printer})
    assert found.improve is Improve.PRINTER
    assert next(iter(found.numbers)) == "detail_x"
    assert set(found.numbers["offset_cyan_x"].prints_needed.values()) == {None}


def test_settings_of_one_print_each_are_not_repeats():
    both = {"a": photographs(0.1, 0.5, prints=1), "b": photographs(0.1, 0.5, prints=1)}
    both["b"] = [replace(m, sha256=f"b{m.sha256}") for m in both["b"]]
    found = repeatability(both)
    assert found.improve is None


def test_prints_photographed_once_are_refused():
    with pytest.raises(InputError, match="no print was photographed twice"):
        repeatability({"fast": photographs(0.1, 0.5, shots=1)})


def test_json_and_page(tmp_path):
    found = repeatability({"fast": photographs(0.1, 0.5)})
    content = json.loads(json.dumps(repeat_json(found), allow_nan=False))
    number = content["numbers"]["detail_x"]
    assert number["unit"] == "cycles/mm"
    assert number["degrees"] == {"set_up": 6, "print": 5}
    assert 0 < number["set_up"] < number["print"]
    assert number["smallest_difference"]["3"] > number["smallest_difference"]["8"]
    text = write_report(found, tmp_path).read_text("utf-8")
    assert "How well do printer and set-up repeat?" in text
    assert (tmp_path / "plots" / "repeats.svg").is_file()
