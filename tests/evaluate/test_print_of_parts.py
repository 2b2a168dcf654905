"""Several photographs of parts of one print make one measurement of it (drawn)."""

import runpy
from dataclasses import replace
from pathlib import Path

import pytest

from dotloupe import Patch, measure_capture, rank
from dotloupe.evaluate.print_of_parts import measurement_of_print, with_prints_of_parts
from dotloupe.evaluate.shared_elements import Sighting, averaged, averaged_number
from dotloupe.measure.uncertainty import Uncertainty
from dotloupe.number import CRITERIA, Number

REGISTER = Path(__file__).parents[1] / "registration" / "test_register.py"
photograph = runpy.run_path(str(REGISTER))["photograph"]
SHARES = {"shot1": 0, "shot2": 1}
"""Whether a photograph shows the left or the right of the frame."""
WIDTH_SHARE = 0.62


def part(capture, name, right):
    columns = capture.shape[1]
    width = round(WIDTH_SHARE * columns)
    left = right * (columns - width)
    path = f"print1_{name}.tif"
    pixels = capture.pixels[:, left : left + width]
    return replace(capture, path=path, sha256=name * 8, pixels=pixels)


@pytest.fixture(scope="module")
def capture():
    return replace(photograph(Patch(600, run=7), blur_mm=0.02)[0], path="print1.tif")


@pytest.fixture(scope="module")
def whole(capture):
    return measure_capture(capture)


@pytest.fixture(scope="module")
def shots(capture):
    return [measure_capture(part(capture, name, right)) for name, right in SHARES.items()]


@pytest.fixture(scope="module")
def together(shots):
    return measurement_of_print(shots)


def test_photographs_of_a_print_share_its_name(shots):
    assert {m.print_id for m in shots} == {"print1"}
    assert all(m.fit for m in shots)


def test_a_print_of_parts_has_the_numbers_of_the_whole(together, whole, table_row):
    for name in CRITERIA:
        assert name in together.numbers, name
        seen, known = together.numbers[name].value, whole.numbers[name].value
        table_row(
            "a print from two photographs of parts (drawn)", f"{name}: {seen:.4f}, {known:.4f}"
        )
        # of tints beside which no blank paper is seen, its own little grain is not taken out
        assert seen == pytest.approx(known, rel=0.08 if name == "grain" else 0.02)
    assert together.sent_ppi == 600
    assert set(together.edges) == set(whole.edges)


def test_each_number_names_the_photographs_that_it_comes_from(together, shots):
    assert set(together.sources) == set(together.numbers)
    by_path = {m.path: m for m in shots}
    for paths in together.sources.values():
        assert paths
        assert set(paths) <= set(by_path)
    of_ink = [n for n in together.numbers if n.startswith("offset_")]
    assert of_ink
    for name in of_ink:
        assert all(name in by_path[path].numbers for path in together.sources[name])


def test_photographs_of_whole_patches_stay_as_they_are(whole):
    again = replace(whole, path="print1_shot2.tif", sha256="1" * 64)
    assert with_prints_of_parts([whole, again]) == (whole, again)


def test_the_print_stays_the_replicate_in_a_ranking(shots):
    other = [
        replace(m, print_id="print2", sha256=f"{n}" * 64) for n, m in enumerate(shots, start=1)
    ]
    ranked = rank({"fast": shots, "fine": other})
    assert {p.n for p in ranked.criteria["detail_x"].places} == {1}
    captures = ranked.to_dict()["captures"]["fast"]
    assert [c["path"] for c in captures] == [m.path for m in shots]


def test_an_element_of_two_photographs_is_averaged_by_their_errors(whole):
    edge = next(iter(whole.edges.values()))
    low, high = edge.mtf50_interval
    softer = replace(edge, mtf50=0.97 * edge.mtf50, mtf50_interval=(0.97 * low, 0.97 * high))
    pair = [Sighting("a", 40.0, 1.0, edge), Sighting("b", 40.0, 2.0, softer)]
    mean = averaged(pair)
    assert mean.mtf50 == pytest.approx((4 * edge.mtf50 + softer.mtf50) / 5)
    assert averaged(pair[:1]) is edge


def test_photographs_that_differ_widen_the_interval_and_alike_do_not_shrink_it():
    one = Number(10.0, 9.8, 10.2, "um", None, Uncertainty(0.1))
    alike = averaged_number([one, one])
    assert (alike.low, alike.high) == pytest.approx((9.8, 10.2))
    apart = averaged_number([one, replace(one, value=12.0, low=11.8, high=12.2)])
    # standard error of the mean of 10 and 12: 1
    assert apart.value == pytest.approx(11.0)
    assert apart.high - apart.value == pytest.approx(1.96, rel=0.01)
    assert apart.uncertainty.standard_error == pytest.approx(1.0, rel=0.03)


def test_of_unlike_samplings_the_finer_counts(shots):
    """The same part, as if photographed at one and a half times the scale."""
    near = shots[0]
    finer = replace(
        near,
        path="print1_shot5.tif",
        sha256="5" * 64,
        registration=replace(
            near.registration, pixels_per_mm=1.5 * near.registration.pixels_per_mm
        ),
    )
    found = measurement_of_print([*shots, finer])
    tones = {f"visual_graininess_{tone}" for tone in finer.tints}
    assert tones
    assert {found.sources[name] for name in tones} == {(finer.path,)}
