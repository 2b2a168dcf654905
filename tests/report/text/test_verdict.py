"""Sentences say what the numbers say, no more."""

import numpy as np
import pytest

import dotloupe
from dotloupe.compare.ranking.ranking import rank
from dotloupe.measurement import Measurement
from dotloupe.number import Number
from dotloupe.report.model import history_model, ladder_model, ranking_model
from dotloupe.report.text.terminal import ranking_table
from dotloupe.report.text.trend import advice_sentence
from dotloupe.report.text.verdict import history_verdict, ladder_verdict, ranking_verdict
from dotloupe.report.text.visibility import far, ranking_visibility
from dotloupe.report.text.weights import contributions_sentence, weights_sentences


@pytest.fixture(scope="module")
def three(make_photographs):
    """Two settings alike and one with three times the grain."""
    return rank(
        {
            "north": make_photographs("north", 1, grain=0.3),
            "south": make_photographs("south", 2, grain=0.3),
            "west": make_photographs("west", 3, grain=0.9),
        }
    )


def test_leader_and_size_of_the_lead(ranking):
    said = ranking_verdict(ranking_model(ranking))
    pair = ranking.criteria["overall"].pairs[0]
    assert said.question == "fast or fine: which prints better?"
    assert said.sentences[0].startswith("fine prints better than fast: overall it is ")
    assert f"{pair.difference:.1f} visible steps ahead" in said.sentences[0]
    assert len(said.sentences) == 2


def test_single_prints_are_spoken_of_as_prints(make_photographs):
    """One print a setting says nothing of how prints of a setting vary."""
    single = rank({s: make_photographs(s, i, count=1, grain=g) for i, (s, g) in
                   enumerate((("fast", 0.8), ("fine", 0.4)))})  # fmt: skip
    said = ranking_verdict(ranking_model(single))
    assert said.sentences[0].startswith("This print of fine is better than this print of fast: ")
    assert "his print of fine has 4" in said.sentences[1]
    assert said.sentences[2] == "Whether the settings differ needs a second print of each."
    assert "this print of fine and this print of fast" in said.seen[0]
    text = ranking_table(ranking_model(single))
    assert "repeats vary" not in text
    # once, however many criteria it holds for
    assert text.count("one print a setting") == 1
    assert [c for c in single.to_dict()["cautions"] if c == "one_print_each"]


def test_shared_lead(three):
    first = ranking_verdict(ranking_model(three)).sentences[0]
    names = [p.setting for p in three.criteria["overall"].places[:2]]
    assert {*names} == {"north", "south"}
    assert first.startswith(f"{names[0]} and {names[1]} share the lead overall")
    assert first.endswith(f"; west lies behind {names[0]}.")


def test_the_eye_is_asked_at_the_viewing_distance(three):
    said = ranking_visibility(three)
    leader = three.criteria["overall"].places[0].setting
    found = three.visibility[0]
    assert (found.setting, found.other) == (leader, "west")
    assert found.interval[0] > 350
    assert said[0].startswith("From 35 cm a keen eye can tell")
    assert far(found.distance_mm) in said[0]
    # beyond the distance at which the difference is lost, the same prints look the same
    afar = rank(
        {s: three.measurements[s] for s in ("north", "west")},
        viewing_distance_mm=1.2 * found.interval[1],
    )
    assert "look the same" in ranking_visibility(afar)[0]


def test_equal_settings_are_not_said_to_differ(make_photographs):
    alike = rank({"a": make_photographs("a", 8), "b": make_photographs("b", 9)})
    said = ranking_visibility(alike)[0]
    assert "can tell" not in said


def test_distances_read_as_people_say_them():
    assert [far(d) for d in (123.0, 999.0, 1240.0, 20_000.0)] == [
        "12 cm",
        "100 cm",
        "1.2 m",
        "20 m and more",
    ]


def test_weights_are_declared(ranking):
    said = " ".join(weights_sentences(ranking))
    assert "all of those of visible grain, 25 % of those of detail along x" in said
    overall = ranking.overall
    if overall.winner_depends_on_weights:
        assert f"{overall.weights_may_change_by:.1f}" in said
    else:
        assert "No other weights" in said
    assert "Zero is where fast lies on average" in said


def test_weights_speak_only_of_what_prints_tell_apart(make_photographs):
    """Settings drawn alike in sharpness: whatever leads there by chance is no other leader."""
    found = rank({"a": make_photographs("a", 11, grain=0.3), "b": make_photographs("b", 12)})
    sharp = [c for c in found.overall.weights if c != "grain"]
    assert not any(p.distinguishable for c in sharp for p in found.criteria[c].pairs)
    assert found.overall.winner_by_criterion == {**dict.fromkeys(sharp), "grain": "a"}
    assert not found.overall.winner_depends_on_weights
    assert "alone puts" not in " ".join(weights_sentences(found))


def test_what_each_criterion_gives_is_said(ranking):
    said = contributions_sentence(ranking)
    shares = ranking.overall.contributions["fine"]
    assert said.startswith(f"Of the {sum(shares.values()):.1f} steps that fine is ahead, visible")
    assert f"visible grain gives {shares['grain']:.1f}" in said
    assert said in " ".join(ranking_table(ranking_model(ranking)).split())


def test_ladder_says_what_is_enough(climbing):
    enough, special = ladder_verdict(ladder_model(climbing)).sentences
    assert enough.startswith(f"{climbing.enough_ppi:g} ppi is enough")
    low, high = climbing.leading.rise.crossing_interval
    # closed form: (1 + (200 / ppi)^3)^(-1/3) = 0.95
    assert low < 200 / (0.95**-3 - 1) ** (1 / 3) < high
    assert special.startswith("No value of ppi is special")


def test_ladder_names_what_stands_out(make_photographs):
    detail = {150: 2.0, 200: 2.6, 250: 3.0, 300: 3.3, 360: 4.5, 450: 3.7, 600: 3.8, 720: 3.85}
    found = dotloupe.ladder(
        {
            ppi: make_photographs(f"p{ppi}", ppi, spread=0.004, sent_ppi=ppi, detail_x=value)
            for ppi, value in detail.items()
        }
    )
    assert found.outstanding == (360.0,)
    assert "360 ppi lies " in ladder_verdict(ladder_model(found)).sentences[1]


def test_trend_gives_its_advice(tmp_path):
    history = dotloupe.History(tmp_path / "history.sqlite")
    rng = np.random.default_rng(3)
    for i in range(12):
        v = (0.5 if i < 9 else 0.8) * (1 + 0.02 * rng.standard_normal())
        number = Number(v, 0.97 * v, 1.03 * v, "L* rms")
        m = Measurement(f"{i}.png", f"{i:064x}", str(i), i, 600.0, True, (), (), {"grain": number})
        history.add(
            m, printer="desk", paper="lustre", mode="fast", printed_on=f"2026-{i + 1:02d}-01"
        )
    history.add_event("move", printer="desk", happened_on="2026-09-15")
    trend = history.track("grain")
    said = history_verdict(history_model(trend))
    assert said.question == "Has visible grain changed? Printer “desk”, “fast” mode."
    assert said.sentences[0] == advice_sentence(trend)
    assert said.sentences[1].startswith("The move of 15 September raised visible grain by ")
    assert "12 prints on lustre" in said.sentences[2]
    assert "compared with 9 prints, 1 January to 1 September" in said.sentences[2]
    page = dotloupe.write_report(trend, tmp_path / "report")
    text = page.read_text(encoding="utf-8")
    assert "Move, 2026-09-15" in text
    assert (tmp_path / "report" / "plots" / "trend_grain.svg").is_file()
