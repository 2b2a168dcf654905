"""Crossed factors in words and tables: the same numbers in JSON, terminal and page."""

import json
import re

import pytest

from dotloupe import write_report
from dotloupe.compare.effects import CostKind, effects
from dotloupe.report import effects_json, effects_model
from dotloupe.report.text import effects_table
from dotloupe.report.text.effects import answer_sentences, effects_sentences
from dotloupe.report.text.effects_rows import effect_tables

GRAIN = {
    ("fast", "before"): 1.0,
    ("fast", "after"): 0.7,
    ("slow", "before"): 0.6,
    ("slow", "after"): 0.6,
}


@pytest.fixture(scope="module")
def crossed(make_photographs):
    settings, levels, costs = {}, {}, {}
    for seed, ((mode, alignment), grain) in enumerate(GRAIN.items()):
        name = f"{mode}, {alignment}"
        settings[name] = make_photographs(name, seed, grain=grain)
        levels[name] = {"mode": mode, "alignment": alignment}
        costs[name] = {CostKind.SECONDS: 25.0 if mode == "fast" else 80.0}
    return effects(settings, levels, costs=costs)


def test_the_answer_names_what_depends_and_what_it_costs(crossed):
    said = " ".join(answer_sentences(crossed))
    assert "in “fast”; in “slow” it shows no effect with 6 prints" in said
    assert "What alignment does depends on mode." in said
    assert "takes 80 s a print instead of 25 s; over “fast” it buys" in said
    assert all(len(s.split()) <= 36 for s in answer_sentences(crossed))


def test_single_prints_that_tell_nothing_claim_no_equality(make_photographs):
    levels = {
        f"{m}{a}": {"mode": m, "alignment": a} for m, a in (("f", "b"), ("f", "a"), ("s", "b"))
    }
    settings = {name: make_photographs(name, i, count=1) for i, name in enumerate(levels)}
    found = effects(settings, levels)
    said = " ".join((*answer_sentences(found), *effects_sentences(found, found.criteria["grain"])))
    assert "cannot tell" in said
    assert "no difference" not in said


def test_a_choice_whose_levels_share_nothing_is_named(make_photographs):
    cells = (("new", "fast"), ("new", "fine"), ("old", "before"), ("old", "after"))
    levels = {f"{a}{b}": {"inks": a, "mode": b} for a, b in cells}
    settings = {name: make_photographs(name, i) for i, name in enumerate(levels)}
    said = " ".join(answer_sentences(effects(settings, levels)))
    assert "Nothing can be said of inks" in said


def test_an_averaged_effect_of_one_level_alone_has_one_row(make_photographs):
    cells = (("fast", "before"), ("fast", "after"), ("slow", "after"))
    levels = {f"{a}{b}": {"mode": a, "alignment": b} for a, b in cells}
    settings = {name: make_photographs(name, i) for i, name in enumerate(levels)}
    found = effects(settings, levels)
    rows = effect_tables(found, found.criteria["grain"]).effects
    assert [row[1] for row in rows] == ["all", "all"]


def test_a_change_in_words_has_the_numbers_of_the_json(crossed):
    grain = effects_json(crossed)["criteria"]["grain"]
    fast = next(e for e in grain["simple_effects"] if e["within"] == {"mode": "fast"})
    first = effects_sentences(crossed, crossed.criteria["grain"])[0]
    percent, near, far = re.search(r"by ([\d.]+) % \(([\d.]+) to ([\d.]+) %\)", first).groups()
    assert float(percent) == pytest.approx(-fast["percent"], abs=0.5)
    assert float(near) == pytest.approx(-fast["percent_high"], abs=0.5)
    assert float(far) == pytest.approx(-fast["percent_low"], abs=0.5)


def test_the_terminal_has_a_row_for_every_effect(crossed):
    text = effects_table(effects_model(crossed))
    assert all(len(line) <= 80 for line in text.splitlines())
    content = effects_json(crossed)["criteria"]
    rows = sum(
        len(c["effects"]) + len(c["simple_effects"]) + len(c["interactions"])
        for c in content.values()
    )
    assert len(re.findall(r"(?:differs|tied)$", text, re.MULTILINE)) == rows == 35


def test_the_page_holds_the_json_and_a_plot_pair_a_criterion(crossed, tmp_path):
    page = write_report(crossed, tmp_path / "report")
    written = json.loads((tmp_path / "report" / "data" / "result.json").read_text("utf-8"))
    expected = json.loads(json.dumps(effects_json(crossed)))
    assert {name: written[name] for name in expected} == expected
    plots = {p.stem for p in (tmp_path / "report" / "plots").glob("*.svg")}
    for name in crossed.criteria:
        assert {f"combinations_{name}", f"differences_{name}"} <= plots
    said = page.read_text("utf-8")
    assert "Mode or alignment: which choice did it?" in said
    assert answer_sentences(crossed)[0] in said
