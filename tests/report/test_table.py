"""Text tables: verdicts that follow the numbers, ties, and names that stay text."""

import re

from dotloupe.compare.ladder.all_criteria import ladder
from dotloupe.compare.number_names import number_title
from dotloupe.compare.ranking.ranking import rank
from dotloupe.report.text.terminal import (
    cells,
    grid,
    ladder_table,
    measurement_table,
    ranking_table,
)


def test_ranking_says_who_leads_and_what_ties(ranking):
    text = ranking_table(ranking)
    # grain 0.4 against 0.8 with 2 % spread: far apart; everything else drawn alike
    assert re.search(r"^fine has [\d.]+ % less visible grain than fast", text, re.MULTILINE)
    grain = text[text.index("Visible grain, L* rms, less is better") :].splitlines()
    assert re.match(r"\s+1  fine .* 3$", grain[3])
    assert re.match(r"\s+2  fast .* 3$", grain[4])
    detail = text[text.index("Detail along x (MTF50)") :].splitlines()
    assert detail[3].split()[0] == detail[4].split()[0] == "1"
    assert "cannot be told apart" in " ".join(text.split())


def test_equal_settings_are_not_ranked(make_photographs):
    text = ranking_table(
        rank({"left": make_photographs("left", 3), "right": make_photographs("right", 4)})
    )
    assert "cannot be told apart on 3 prints each" in text
    assert "No single criterion tells any two of them apart." in text


def test_ladder_names_the_least_ppi_that_is_enough(climbing):
    text = ladder_table(climbing)
    assert climbing.enough_ppi is not None
    assert f"{climbing.enough_ppi:g} ppi is enough" in text
    assert "No value of ppi is special" in text
    for ppi in climbing.sent_ppi:
        assert re.search(rf"^\s+{ppi:g}  ", text, flags=re.MULTILINE)


def test_ladder_of_single_prints_says_that_repeats_are_missing(make_photographs):
    rungs = {
        ppi: make_photographs(f"{ppi}", 3, count=1, sent_ppi=ppi, detail_x=detail)
        for ppi, detail in ((180.0, 2.7), (360.0, 3.9), (720.0, 4.2))
    }
    said = " ".join(ladder_table(ladder(rungs)).split())
    assert "note: one print a ppi: the intervals hold for these prints" in said
    assert "fewer than four ppi" in said


def test_one_capture(ranking):
    m = ranking.measurements["fast"][0]
    text = measurement_table(m)
    assert "fast-0.tif, run 1, sent at 600 ppi" in text
    assert all(number_title(n.measurand) in text for n in m.numbers.values())


def test_names_cannot_command_the_terminal(make_photographs):
    wild = "\x1b[31mred\u202eder"
    text = ranking_table(
        rank({wild: make_photographs("a", 5), "x" * 300: make_photographs("b", 6, grain=0.4)})
    )
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert "·[31mred·der" in text
    # a name of 300 characters is cut, so that no line breaks the table
    assert max(map(cells, text.splitlines())) < 120


def test_wide_characters_keep_columns_in_line():
    lines = grid(("name", "value"), [("印刷", "1"), ("abcd", "2")]).splitlines()
    # a fullwidth character takes two columns of a terminal (Unicode annex 11)
    assert {cells(line) for line in lines} == {cells(lines[0].rstrip())} | {
        cells(lines[2].rstrip())
    } | {cells(lines[1])}
    assert cells(lines[2]) == cells(lines[3])
