"""Sentences say what the numbers say, no more."""

from dataclasses import replace

import numpy as np
import pytest

import dotloupe
from dotloupe.capture.file_cautions import Simulated
from dotloupe.compare.ranking.ranking import rank
from dotloupe.compare.visibility.setting_pair import Visibility
from dotloupe.evaluate.cautions import NothingMeasured
from dotloupe.measurement import Measurement
from dotloupe.number import CRITERIA, Number
from dotloupe.report.model import history_model, ladder_model, ranking_model
from dotloupe.report.text.leading import shown_at
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
    assert said.question == "“fast” or “fine”: which prints better?"
    assert said.sentences[0].startswith("“fine” prints measurably better than “fast”")
    assert f"{pair.difference:.1f} visible steps" in said.sentences[0]
    # the answer says at once whether the difference shows
    assert "35 cm" in said.sentences[1]
    assert (said.notice, said.limits) == ("", ())


def test_single_prints_are_spoken_of_as_prints(make_photographs):
    """One print a setting says nothing of how prints of a setting vary."""
    single = rank({s: make_photographs(s, i, count=1, grain=g) for i, (s, g) in
                   enumerate((("fast", 0.8), ("fine", 0.4)))})  # fmt: skip
    said = ranking_verdict(ranking_model(single))
    assert said.sentences[0].startswith("This print of “fine” is measurably better")
    assert "his print of “fine” has 4" in said.sentences[2], said.sentences
    assert [s for s in said.limits if s.startswith("One print of each setting")]
    assert "this print of “fine” and this print of “fast”" in said.seen[0]
    text = ranking_table(ranking_model(single))
    assert "repeat prints do" not in text
    # once, however many criteria it holds for
    assert text.count("One print of each setting") == 1
    assert [c for c in single.to_dict()["cautions"] if c == "one_print_each"]


def test_shared_lead(three):
    first = ranking_verdict(ranking_model(three)).sentences[0]
    names = [p.setting for p in three.criteria["overall"].places[:2]]
    assert {*names} == {"north", "south"}
    assert first.startswith(f"“{names[0]}” and “{names[1]}” share the lead")
    assert first.endswith(f"“{names[0]}” beats “west”.")


def test_the_eye_is_asked_at_the_viewing_distance(three):
    said = ranking_visibility(three)
    leader = three.criteria["overall"].places[0].setting
    found = three.visibility[0]
    assert (found.setting, found.other) == (leader, "west")
    assert found.interval[0] > 350
    assert shown_at(found) is Visibility.VISIBLE
    assert said[0].startswith("At 35 cm ")
    surest = max(found.by, key=lambda b: b.interval[0])
    assert all(far(mm) in said[0] for mm in (surest.distance_mm, *surest.interval))
    # beyond the distance at which the difference is lost, the same prints look the same
    afar = rank(
        {s: three.measurements[s] for s in ("north", "west")},
        viewing_distance_mm=1.2 * found.interval[1],
    )
    assert shown_at(afar.visibility[0]) is Visibility.NOT_VISIBLE
    assert "look the same" in ranking_visibility(afar)[0]


def test_equal_settings_are_not_said_to_differ(make_photographs):
    alike = rank({"a": make_photographs("a", 8), "b": make_photographs("b", 9)})
    assert shown_at(alike.visibility[0]) is not Visibility.VISIBLE
    assert "look different" not in ranking_visibility(alike)[0].replace("whether", "")


def test_distances_read_as_people_say_them():
    assert [far(d) for d in (123.0, 999.0, 1240.0, 20_000.0)] == [
        "12 cm",
        "100 cm",
        "1.2 m",
        "20 m and more",
    ]


def test_weights_are_declared(ranking):
    said = " ".join(weights_sentences(ranking))
    assert "all of those in visible grain, 25 % of those in detail along x" in said
    overall = ranking.overall
    if overall.winner_depends_on_weights:
        assert f"{overall.weights_may_change_by:.1f}" in said
    else:
        assert "No choice of weights" in said
    assert "Zero is the mean of “fast”" in said


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
    assert said.startswith(f"“fine” is {sum(shares.values()):.1f} steps ahead")
    assert f"{shares['grain']:.1f} from visible grain" in said
    assert said in " ".join(ranking_table(ranking_model(ranking)).split())


def test_ladder_says_what_is_enough(climbing):
    said = ladder_verdict(ladder_model(climbing)).sentences
    assert said[0].startswith(f"{climbing.enough_for_all_ppi:g} ppi is enough")
    # one rule for all: each criterion with what it needs, none of them more than the answer
    for name, ppi in climbing.needed_ppi.items():
        what = CRITERIA[name].measurand.phrase
        assert [s for s in said if s.lower().startswith(f"{what} needs {ppi:g} ppi")]
        assert ppi <= climbing.enough_for_all_ppi
    low, high = climbing.leading.rise.crossing_interval
    # closed form: (1 + (200 / ppi)^3)^(-1/3) = 0.95
    assert low < 200 / (0.95**-3 - 1) ** (1 / 3) < high
    assert said[-1].startswith("No ppi stands out")


def test_no_ppi_is_called_enough_while_a_criterion_still_rises(make_photographs):
    """Line pairs that rise with the ppi sent outweigh detail that levelled off."""
    found = dotloupe.ladder(
        {
            ppi: make_photographs(
                f"r{ppi}",
                ppi,
                spread=0.004,
                sent_ppi=ppi,
                detail_x=5 / (1 + (100 / ppi) ** 3) ** (1 / 3),
                line_pairs_x=ppi / 60,
            )
            for ppi in (150, 200, 300, 360, 450, 600, 720)
        }
    )
    assert found.enough_ppi is not None
    assert found.needed_ppi["line_pairs_x"] is None
    assert found.enough_for_all_ppi is None
    said = ladder_verdict(ladder_model(found)).sentences[0]
    assert said.startswith("Send at least")
    assert "line pairs along x" in said


def test_what_misleads_stands_before_and_beside_the_answer(make_photographs, tmp_path):
    simulated = {
        s: [replace(m, warnings=(Simulated(),)) for m in make_photographs(s, i, count=3)]
        for i, s in enumerate(("fast", "fine"))
    }
    simulated["fast"][0] = replace(simulated["fast"][0], fit=False, reasons=(NothingMeasured(),))
    model = ranking_model(rank(simulated))
    said = ranking_verdict(model)
    assert "Simulated" in said.notice
    (left_out,) = said.limits
    assert "1 of 6 captures is left out" in left_out
    assert "fast-0.tif of “fast”" in left_out
    text = ranking_table(model)
    assert text.startswith(said.notice)
    assert " ".join(text.split()).index(left_out) < text.index("place")
    page = dotloupe.write_report(model.ranking, tmp_path)
    html = page.read_text(encoding="utf-8")
    assert html.index(said.notice) < html.index(said.question.split()[1], html.index("<main>"))
    assert html.index("1 of 6 captures is left out") < html.index("<table")


def test_ladder_names_what_stands_out(make_photographs):
    detail = {150: 2.0, 200: 2.6, 250: 3.0, 300: 3.3, 360: 4.5, 450: 3.7, 600: 3.8, 720: 3.85}
    found = dotloupe.ladder(
        {
            ppi: make_photographs(f"p{ppi}", ppi, spread=0.004, sent_ppi=ppi, detail_x=value)
            for ppi, value in detail.items()
        }
    )
    assert found.outstanding == (360.0,)
    assert "360 ppi lies " in " ".join(ladder_verdict(ladder_model(found)).sentences)


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
    assert "12 prints on “lustre”" in said.sentences[2]
    assert "compared with 9 prints, 1 January to 1 September" in said.sentences[2]
    page = dotloupe.write_report(trend, tmp_path / "report")
    text = page.read_text(encoding="utf-8")
    assert "Move, 2026-09-15" in text
    assert (tmp_path / "report" / "plots" / "trend_grain.svg").is_file()
