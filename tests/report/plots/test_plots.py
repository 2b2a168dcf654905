"""Plots draw the numbers that they are given, and can be saved as vectors with text."""

import re
from dataclasses import replace

import numpy as np
import pytest

from dotloupe.compare.ranking.ranking import rank
from dotloupe.number import Measurand, Quantity
from dotloupe.report.model import Setting, ladder_model, ranking_model
from dotloupe.report.plots.csv_rows import reading_rows
from dotloupe.report.plots.curves import (
    bars_curve,
    detail_curve,
    mean_curve,
    mean_number,
    mean_reading,
)
from dotloupe.report.plots.detail import detail_plot, line_pairs_plot
from dotloupe.report.plots.files import ranking_plots
from dotloupe.report.plots.focus import focus_plots
from dotloupe.report.plots.places_and_ladder import criterion_plot, ladder_plot
from dotloupe.report.plots.plot import drawing, svg_text
from dotloupe.report.plots.readings import all_readings, readings_of, readings_plot
from dotloupe.report.plots.style import SERIES
from dotloupe.report.plots.svg import inlined
from dotloupe.report.plots.viewing_distance import eyesight_plot
from dotloupe.report.text.readings import disagreement_sentence, readings_sentence


def ends(axis):
    """Horizontal extent of every bar drawn on an axis."""
    return [line.get_xdata() for line in axis.lines if len(line.get_xdata()) == 2]


def test_every_plot_gives_its_axis_back(ranking):
    model = ranking_model(ranking)
    drawn = [plot for plot in ranking_plots(model, all_readings(model)) if list(plot.rows)]
    assert len(drawn) > 15
    for plot in drawn:
        with drawing(*plot.size_in) as (figure, axis):
            assert plot.draw(axis) in figure.axes
            assert svg_text(figure).count("<text") > 3, plot.name


def test_readings_that_part_are_named_with_what_it_means(make_photographs):
    """Bars as drawn here, 0.1^(f/12)^2, lose less than edges that halve at 4 cycles/mm."""
    shots = {n: make_photographs(n, i, line_pairs_x=12.0) for i, n in enumerate(("a", "b"))}
    result = rank(shots)
    setting = ranking_model(result).settings[0]
    found_x = readings_of(setting, "x")
    parting = found_x.parting
    low, high = parting.frequencies
    kept = parting.mean[parting.order.index("bars")]
    at = np.linspace(low, high, 100)
    # bars keep more than the edges' Gaussian, and by Coltman's series less than their contrast
    own, edges = (float(np.mean(b ** ((at / f) ** 2))) for b, f in ((0.1, 12), (0.5, 4)))
    assert edges < kept < own
    assert any(parting.parted)
    # once for all plots
    every = [r.parting for r in all_readings(ranking_model(result))]
    assert "false resolution" in disagreement_sentence(every)
    assert "false resolution" not in readings_sentence(parting)
    with drawing() as (_, axis):
        readings_plot(found_x).draw(axis)
        marks = next(line for line in axis.lines if line.get_label().startswith("bars"))
    drawn = mean_reading(setting, "bars", "x")
    assert len(marks.get_xdata()) == len(drawn.x)
    rows = list(reading_rows(setting, found_x.curves))
    assert {row["reading"] for row in rows} == {"edges", "bars", "texture"}


def test_a_reach_that_may_be_none_is_marked(make_photographs):
    """Drawn alike, the prints cannot tell the two apart: every interval reaches down to 0."""
    alike = rank({"a": make_photographs("a", 8), "b": make_photographs("b", 9)})
    assert all(by.interval[0] == 0 for by in alike.visibility[0].by)
    with drawing() as (_, axis):
        eyesight_plot(ranking_model(alike)).draw(axis)
        arrows = [line for line in axis.lines if line.get_marker() == "<"]
    assert len(arrows) == len(alike.visibility[0].by)


def test_mean_curve_is_the_mean_of_prints(ranking):
    setting = ranking_model(ranking).settings[0]
    curve = mean_curve(setting, detail_curve("detail_x"), np.array([0.0, 4.0]))
    single = [0.5 ** ((4 / m.numbers["detail_x"].value) ** 2) for m in setting.measurements]
    # linear interpolation between samples a quarter of a cycle apart
    assert curve.value[1] == pytest.approx(np.mean(single), abs=2e-3)
    # Student's t, 95 % of two degrees of freedom: 4.303 (table of any text on statistics)
    half = 4.303 * np.std(single, ddof=1) / np.sqrt(3)
    assert curve.high[1] - curve.value[1] == pytest.approx(half, rel=0.02)


def test_photographs_of_one_print_are_no_repeats(make_photographs):
    from dataclasses import replace

    from dotloupe.compare.ranking.ranking import rank

    one = [replace(m, print_id="same") for m in make_photographs("one", 1, count=4)]
    setting = ranking_model(rank({"one": one, "two": make_photographs("two", 2)})).settings[0]
    mean = mean_number(setting, lambda m: (m.numbers["grain"].value, 0.7, 0.9))
    assert mean.prints == 1
    assert (mean.low, mean.high) == pytest.approx((0.7, 0.9))


def test_criterion_shows_means_and_intervals(ranking):
    with drawing() as (_, axis):
        criterion_plot(ranking_model(ranking), "grain").draw(axis)
        drawn = [tuple(x) for x in ends(axis)]
    for place in ranking.criteria["grain"].places:
        assert (place.low, place.high) in drawn


def test_bars_are_filled_where_every_print_resolves_them(ranking):
    with drawing() as (_, axis):
        line_pairs_plot(ranking_model(ranking), "x").draw(axis)
        filled = [
            line for line in axis.lines if line.get_label() == "fast" and line.get_marker() == "o"
        ]
    curve = mean_curve(ranking_model(ranking).settings[0], bars_curve("x"))
    assert curve is not None
    # 8 lp/mm lies on the limit of these prints, 5.66 below it
    assert len(filled[0].get_xdata()) in (4, 5)


def test_a_ladder_of_intervals_that_nobody_knows_is_drawn(climbing):
    """As of one print a rung, whose photograph tells no error of its own."""
    name = climbing.criterion
    climb = climbing.criteria[name]
    open_ended = tuple(replace(r, low=float("nan"), high=float("nan")) for r in climb.rungs)
    unknown = replace(climb, rungs=open_ended, rise=None)
    with drawing() as (figure, axis):
        ladder_plot(ladder_model(replace(climbing, criteria={name: unknown})), name).draw(axis)
        assert axis.get_ylim()[1] > max(max(r.prints) for r in climb.rungs)
        assert "Nyquist of the file" in svg_text(figure)


def test_ladder_marks_nyquist_and_every_ppi(climbing):
    with drawing() as (_, axis):
        ladder_plot(ladder_model(climbing), climbing.criterion).draw(axis)
        nyquist = next(line for line in axis.lines if line.get_label() == "Nyquist of the file")
        x, y = nyquist.get_data()
        # half the pixels per mm
        assert y == pytest.approx(x / 25.4 / 2)
        assert [t.get_text() for t in axis.get_xticklabels()] == [
            f"{p:g}" for p in climbing.sent_ppi
        ]


def test_labels_are_never_taken_for_formulas(make_photographs):
    from dotloupe.compare.ranking.ranking import rank

    wild = rank({"$\\frac{1}$": make_photographs("a", 1), "_x^2$": make_photographs("b", 2)})
    with drawing() as (figure, axis):
        detail_plot(ranking_model(wild), Measurand(Quantity.DETAIL, "x")).draw(axis)
        svg = svg_text(figure)
    assert "$\\frac{1}$" in svg


def test_bands_of_many_settings_stand_in_panels_of_their_own(make_photographs):
    many = ranking_model(rank({n: make_photographs(n, i) for i, n in enumerate("abcde")}))
    plot = detail_plot(many, Measurand(Quantity.DETAIL, "x"))
    with drawing(*plot.size_in) as (figure, axis):
        plot.draw(axis)
        assert [len(panel.collections) for panel in figure.axes] == [1, 1, 1, 1, 1, 0]


def test_edges_of_dark_tones_say_whether_the_camera_is_in_them(ranking):
    with drawing() as (_, axis):
        detail_plot(ranking_model(ranking), Measurand(Quantity.DETAIL, "x", "dark")).draw(axis)
        assert axis.get_ylabel().endswith("camera included")


def test_inlined_drawing_takes_the_pages_colours(ranking):
    with drawing() as (figure, axis):
        detail_plot(ranking_model(ranking), Measurand(Quantity.DETAIL, "x")).draw(axis)
        svg = inlined(svg_text(figure), "p7", "Detail, <all> of it")
    assert "var(--s1)" in svg
    assert "var(--s2)" in svg
    assert SERIES[0] not in svg
    assert "<style" not in svg
    assert '<title id="p7-title">Detail, &lt;all&gt; of it</title>' in svg
    names = re.findall(r' id="([^"]*)"', svg)
    assert all(name.startswith("p7-") for name in names)
    used = re.findall(r'href="#([^"]*)"|url\(#([^)]*)\)', svg)
    assert {a or b for a, b in used} <= set(names)


def test_focus_is_drawn_where_it_was_measured(pictured):
    from dataclasses import replace
    from types import SimpleNamespace

    focus = SimpleNamespace(
        places_mm=np.array([[2.0, 3.0], [28.0, 17.0]]),
        softer=np.array([0.0, 0.24]),
        names=("mark_top_left", "mark_bottom_right"),
    )
    m = pictured.measurements["fast"][0]
    seen = replace(m, fitness=SimpleNamespace(focus=focus))
    (plot,) = focus_plots(Setting(0, "fast", (seen,)))
    with drawing() as (figure, axis):
        assert plot.draw(axis) is axis
        svg = svg_text(figure)
        assert axis.get_xlim() == (0, 30)
    assert ">24 %<" in svg
