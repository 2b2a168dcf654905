"""Text tables: verdicts that follow the numbers, ties, and names that stay text."""

import re

from rich.cells import cell_len

from dotloupe.compare.ladder.all_criteria import ladder
from dotloupe.compare.ranking.ranking import rank
from dotloupe.report.model import ladder_model, ranking_model
from dotloupe.report.text import ranking_screen
from dotloupe.report.text.rounding import column_decimals, interval_text
from dotloupe.report.text.terminal import WIDTH, ladder_table, measurement_table, ranking_table


def rows_of(text, title):
    """Cells of the table under a title, without its heads and rule."""
    lines = text[text.index(title) :].split("\n\n")[0].splitlines()
    return [re.split(r"\s{2,}", line.strip()) for line in lines[3:] if line.startswith("  ")]


def test_ranking_says_who_leads_and_what_ties(ranking):
    text = ranking_table(ranking_model(ranking))
    # grain 0.4 against 0.8 with 2 % spread: far apart; everything else drawn alike
    assert re.search(r"“fine”\s+has\s+[\d.]+\s+%\s+less\s+visible\s+grain", text)
    grain = rows_of(text, "Visible grain, L* rms, less is better")
    assert [(row[0], row[1], row[-1]) for row in grain] == [("1", "fine", "3"), ("2", "fast", "3")]
    detail = rows_of(text, "Detail along x (MTF50)")
    assert {row[0] for row in detail} == {"1"}
    assert {(row[1], row[-1]) for row in detail} == {("fine", "fast"), ("fast", "fine")}
    assert "Tied: detail along x" in " ".join(text.split())


def test_equal_settings_are_not_ranked(make_photographs):
    alike = rank({"left": make_photographs("left", 3), "right": make_photographs("right", 4)})
    text = ranking_table(ranking_model(alike))
    assert "cannot be distinguished overall on 3 prints each" in text
    assert "No criterion distinguishes any two of them." in " ".join(text.split())


def test_tied_settings_stand_in_the_order_of_the_page(make_photographs):
    model = ranking_model(rank({n: make_photographs(n, i) for i, n in enumerate("cab")}))
    text = ranking_table(model)
    page = [row.name for row in ranking_screen(model).rows]
    assert page == ["c", "a", "b"]
    for title in ("Overall", "Visible grain, L* rms", "Detail along x (MTF50)"):
        rows = rows_of(text, title)
        assert {row[0] for row in rows} == {"1"}
        assert [row[1] for row in rows] == page, title


def test_ladder_names_the_least_ppi_that_is_enough(climbing):
    text = ladder_table(ladder_model(climbing))
    assert climbing.enough_for_all_ppi == max(climbing.needed_ppi.values())
    assert f"{climbing.enough_for_all_ppi:g} ppi is enough" in text
    assert "No ppi stands out" in " ".join(text.split())
    rows = rows_of(text, climbing.leading.title)
    assert [row[0] for row in rows] == [f"{ppi:g}" for ppi in climbing.sent_ppi]


def test_ladder_of_single_prints_says_that_repeats_are_missing(make_photographs):
    rungs = {
        ppi: make_photographs(f"{ppi}", 3, count=1, sent_ppi=ppi, detail_x=detail)
        for ppi, detail in ((180.0, 2.7), (360.0, 3.9), (720.0, 4.2))
    }
    said = " ".join(ladder_table(ladder_model(ladder(rungs))).split())
    assert said.index("One print at each ppi") < said.index("Detail along x (MTF50)")
    assert "fewer than four ppi" in said


def test_one_capture(ranking):
    m = ranking.measurements["fast"][0]
    text = measurement_table(m)
    assert "fast-0.tif, run 1, sent at 600 ppi" in text
    assert all(n.measurand.title in text for n in m.numbers.values())


def test_names_cannot_command_the_terminal(make_photographs):
    wild = "\x1b[31mred\u202eder"
    named = {wild: make_photographs("a", 5), "x" * 300: make_photographs("b", 6, grain=0.4)}
    text = ranking_table(ranking_model(rank(named)))
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert "·[31mred·der" in text
    # a name of 300 characters is cut, so that no line breaks the table
    assert max(map(cell_len, text.splitlines())) <= WIDTH + 2


def test_wide_characters_keep_columns_in_line(make_photographs):
    shots = {"印刷": make_photographs("a", 5), "abcd": make_photographs("b", 6, grain=0.4)}
    text = ranking_table(ranking_model(rank(shots)))
    lines = text[text.index("Visible grain, L* rms") :].splitlines()[3:5]
    # a fullwidth character takes two columns of a terminal (Unicode annex 11)
    ends = {cell_len(line[: line.index(" to ")]) for line in lines}
    assert len(ends) == 1


def test_numbers_are_neither_cut_nor_broken(make_photographs):
    """Where there is no room, it is the names that wrap."""
    names = ["a setting of a long name", "another of a long name", "a third of a long name"]
    alike = rank({n: make_photographs(n, i) for i, n in enumerate(names)})
    text = ranking_table(ranking_model(alike))
    for criterion in alike.criteria.values():
        for place in criterion.places:
            numbers = (place.value, place.low, place.high)
            places = column_decimals((p.value, p.low, p.high) for p in criterion.places)
            assert interval_text(*numbers, places) in text
    assert max(map(cell_len, text.splitlines())) <= WIDTH + 2
